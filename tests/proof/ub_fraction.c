/* SPDX-License-Identifier: MIT */
/* Stands in for fraction() of lib/core/decay.c; the harness `fraction` looks at the real one. */
#include "tests/proof/ub_decay.h"

uint64_t __CPROVER_file_local_decay_c_fraction(uint64_t rest, uint64_t tau)
{
	uint64_t bits = nondet_long();

	CLAIM(rest < tau && tau <= TD_DECAY_TAU_MAX_NS, "a fraction is less than one");
	ASSUME(rest == 0 || bits >= UINT64_C(1) << 16);
	return bits;
}
