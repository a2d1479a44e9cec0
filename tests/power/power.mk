# SPDX-License-Identifier: MIT
# Power cuts on a real kernel with a real file system.
$(B)/tests/power/guest: $(B)/obj/tests/power/guest.o $(call obj,$(GUEST_HELPERS)) $(B)/libsupport.a $(B)/libhost.a \
		$(B)/libtripdog.a
	@mkdir -p $(@D)
	$(Q)$(CC) $(LDFLAGS_ALL) -o $@ $^ $(LDLIBS_ALL) -lcmocka

.PHONY: check-power
check-power: all $(B)/tests/power/guest ## the power cut N=6 times while the daemon works on a real file system (SEED=...)
	@tests/power/run $(B) --cuts $(if $(filter command,$(origin N)),$(N),6) $(if $(SEED),--seed $(SEED))

.PHONY: bytes
bytes: all $(B)/tests/power/guest ## how much is written to the disk in a day, at rest and driven
	@tests/power/run $(B) --bytes
