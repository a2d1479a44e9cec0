# SPDX-License-Identifier: MIT
# The fuzz targets, built by clang with libFuzzer and the sanitizers, and a run of them all.

FUZZ_SRC := $(sort $(wildcard tests/fuzz/fuzz_*.c))
FUZZ_BIN := $(patsubst tests/fuzz/%.c,$(B)/%,$(FUZZ_SRC))
FUZZ_HELPERS := $(sort $(filter-out $(FUZZ_SRC),$(wildcard tests/fuzz/*.c)))

.SECONDARY: $(call obj,$(wildcard tests/fuzz/*.c))

$(B)/fuzz_%: $(B)/obj/tests/fuzz/fuzz_%.o $(call obj,$(FUZZ_HELPERS)) $(B)/libsupport.a $(B)/libhost.a \
		$(B)/libtripdog.a
	$(Q)$(CC) -fsanitize=fuzzer $(LDFLAGS_ALL) -o $@ $^ $(LDLIBS_ALL)

.PHONY: fuzz-programs
fuzz-programs: $(FUZZ_BIN)

# The warnings are gcc's business; _FORTIFY_SOURCE would hide overflows from the sanitizers.
FUZZ_SETTINGS = B=build/fuzz CC=clang WARNINGS= VARIANT_FLAGS='-O1 -fno-omit-frame-pointer \
	-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all'

T ?= 60
.PHONY: fuzz
fuzz: ## any bytes for core, configuration, socket, recordings and bench, T=60 seconds in all (clang)
	@$(MAKE) --no-print-directory $(FUZZ_SETTINGS) fuzz-programs
	@tests/fuzz/run build/fuzz $(T)
