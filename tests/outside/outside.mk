# SPDX-License-Identifier: MIT
# Checks against libraries and programs from outside that only these tests need (.ci/packages outside).

OUTSIDE_SRC := $(sort $(wildcard tests/outside/test_*.c))
OUTSIDE_BIN := $(patsubst tests/outside/%.c,$(B)/tests/outside/%,$(OUTSIDE_SRC))

.SECONDARY: $(call obj,$(OUTSIDE_SRC))

$(OUTSIDE_BIN): LDLIBS_ALL += -lgsl -lgslcblas

.PHONY: outside
outside: $(OUTSIDE_BIN) ## checks against libraries and programs from outside (libgsl-dev, sigrok-cli)
	@failed=0; for t in $(OUTSIDE_BIN); do CMOCKA_MESSAGE_OUTPUT=TAP $$t || failed=1; done; exit $$failed
