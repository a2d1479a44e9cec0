/* SPDX-License-Identifier: MIT */
/* fraction() of lib/core/decay.c, within what its comment asks for. */
#include "tests/proof/ub_decay.h"

uint64_t __CPROVER_file_local_decay_c_fraction(uint64_t rest, uint64_t tau);

int main(void)
{
	uint64_t rest = nondet_long();
	uint64_t tau = nondet_long();

	ASSUME(rest < tau && tau <= TD_DECAY_TAU_MAX_NS);

	uint64_t bits = __CPROVER_file_local_decay_c_fraction(rest, tau);

	CLAIM(rest == 0 || bits >= UINT64_C(1) << 16, "what is not nothing stays so");
	REACHED();
	return 0;
}
