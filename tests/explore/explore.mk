# SPDX-License-Identifier: MIT
# Every state of a small core: lib/core compiled for one axis and three switches, and the search around it.

EXPLORE_TESTS := $(sort $(wildcard tests/explore/test_*.c))
EXPLORE_BIN := $(patsubst tests/explore/%.c,$(B)/tests/explore/%,$(EXPLORE_TESTS))
EXPLORE_PARTS := $(CORE_SRC) $(filter-out $(EXPLORE_TESTS),$(sort $(wildcard tests/explore/*.c)))
EXPLORE_SIZES := -DTD_AXES_MAX=1 -DTD_SWITCHES_MAX=3 -DTD_BARS_MAX=1
small = $(patsubst %.c,$(B)/small/%.o,$(1))

$(B)/small/%.o: %.c Makefile tests/explore/explore.mk
	@mkdir -p $(@D)
	$(Q)$(CC) $(ALL_CFLAGS) $(HOST_CFLAGS) $(EXPLORE_SIZES) -c -o $@ $<

.SECONDARY: $(call small,$(EXPLORE_PARTS) $(EXPLORE_TESTS))
$(EXPLORE_BIN): $(B)/tests/explore/%: $(B)/small/tests/explore/%.o $(call small,$(EXPLORE_PARTS))
	@mkdir -p $(@D)
	$(Q)$(CC) $(LDFLAGS_ALL) -o $@ $^ -lcmocka

.PHONY: explore-programs
explore-programs: $(EXPLORE_BIN)

.PHONY: explore
explore: $(EXPLORE_BIN) ## every state of the core for one axis, every rule set and kind of move (minutes)
	@CMOCKA_MESSAGE_OUTPUT=TAP TD_EXPLORE=all $(B)/tests/explore/test_explore

-include $(shell find $(B)/small -type f -name '*.d' 2>/dev/null)
