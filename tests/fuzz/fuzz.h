/* SPDX-License-Identifier: MIT */
/*
 * What the fuzz targets share. A target takes any bytes and checks what must hold for them; a finding ends the
 * program, and the fuzzer keeps the bytes.
 */
#ifndef TD_TESTS_FUZZ_H
#define TD_TESTS_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "config/config.h"

/* The entry point of libFuzzer; 0 = taken, -1 = of no interest, do not keep. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count);

static inline void must(bool holds, const char *what)
{
	if (holds)
		return;
	(void)fprintf(stderr, "fuzz: does not hold: %s\n", what);
	abort();
}

/* The contract of reading a configuration or plant file: either a result or faults with words. */
void must_be_whole(bool read, const struct td_config_faults *faults);

/* True where every byte is zero. */
bool is_all_zero(const void *bytes, size_t count);

#endif
