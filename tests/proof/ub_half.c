/* SPDX-License-Identifier: MIT */
/* Stands in for upper_half() of lib/core/decay.c; the harness `half` looks at the real one. */
#include "tests/proof/ub.h"

uint64_t __CPROVER_file_local_decay_c_upper_half(uint64_t a, uint64_t b)
{
	uint64_t result = nondet_long();

	ASSUME(result <= a && result <= b && (b > UINT64_C(1) << 62 || result <= a >> 2));
	ASSUME(b < UINT64_C(1) << 61 || result >= a >> 3);
	return result;
}
