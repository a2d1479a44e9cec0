# SPDX-License-Identifier: MIT
# Checks against libraries and programs from outside that only these tests need (.ci/packages outside).

OUTSIDE_SRC := $(sort $(wildcard tests/outside/test_*.c))
OUTSIDE_BIN := $(patsubst tests/outside/%.c,$(B)/tests/outside/%,$(OUTSIDE_SRC))

.SECONDARY: $(call obj,$(OUTSIDE_SRC))

$(OUTSIDE_BIN): LDLIBS_ALL += -lgsl -lgslcblas

build/outside/promtool: tests/outside/promtool
	@$< $(@D)

.PHONY: outside
outside: $(OUTSIDE_BIN) build/outside/promtool ## checks against libraries and programs from outside (.ci/packages outside)
	@failed=0; for t in $(OUTSIDE_BIN); do \
		CMOCKA_MESSAGE_OUTPUT=TAP TD_PROMTOOL=$(CURDIR)/build/outside/promtool $$t || failed=1; \
	done; exit $$failed
