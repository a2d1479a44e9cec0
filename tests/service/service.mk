# SPDX-License-Identifier: MIT
# The service in a real systemd: what runs inside, and the run itself.

SERVICE_BIN := $(patsubst tests/service/%.c,$(B)/tests/service/%,$(sort $(wildcard tests/service/*.c)))

.SECONDARY: $(call obj,$(wildcard tests/service/*.c))

.PHONY: check-service
check-service: all $(SERVICE_BIN) build/deb/made ## the service in a real systemd in a container: installed, started, struck down, reloaded (root)
	@tests/service/run $(B) inside

.PHONY: bench-service
bench-service: all $(SERVICE_BIN) build/deb/made ## a hundred starts of the service, and what it costs at rest (root; N=100)
	@tests/service/run $(B) bench $(if $(filter command,$(origin N)),$(N),100)
