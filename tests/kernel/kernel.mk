# SPDX-License-Identifier: MIT
# The programs that run inside the test machine, and the run itself.

GUEST_BIN := $(patsubst tests/kernel/%.c,$(B)/tests/kernel/%,$(sort $(wildcard tests/kernel/guest_*.c)))
GUEST_HELPERS := $(filter-out tests/kernel/guest_%,$(sort $(wildcard tests/kernel/*.c)))

.SECONDARY: $(call obj,$(wildcard tests/kernel/*.c))

$(B)/tests/kernel/guest_%: $(B)/obj/tests/kernel/guest_%.o $(call obj,$(GUEST_HELPERS)) $(B)/libsupport.a \
		$(B)/libhost.a $(B)/libtripdog.a
	@mkdir -p $(@D)
	$(Q)$(CC) $(LDFLAGS_ALL) -o $@ $^ $(LDLIBS_ALL) -lcmocka

.PHONY: guests
guests: $(GUEST_BIN) faults

.PHONY: check-kernel
check-kernel: all guests ## the GPIO backend and the daemon on a real kernel with simulated GPIO
	@tests/kernel/run $(B)
