# SPDX-License-Identifier: MIT
# Checks against libraries from outside that only these tests need (package libgsl-dev).

OUTSIDE_SRC := $(sort $(wildcard tests/outside/test_*.c))
OUTSIDE_BIN := $(patsubst tests/outside/%.c,$(B)/tests/outside/%,$(OUTSIDE_SRC))

$(OUTSIDE_BIN): LDLIBS_ALL += -lgsl -lgslcblas

.PHONY: outside
outside: $(OUTSIDE_BIN) ## checks against libraries from outside (libgsl-dev)
	@tests/run $(B) outside
