/* SPDX-License-Identifier: MIT */
/* upper_half() of lib/core/decay.c: no sum in it wraps, and it is no more than what ub_half.c says. */
#include "tests/proof/ub.h"

uint64_t __CPROVER_file_local_decay_c_upper_half(uint64_t a, uint64_t b);

int main(void)
{
	uint64_t a = nondet_long();
	uint64_t b = nondet_long();
	uint64_t half = __CPROVER_file_local_decay_c_upper_half(a, b);

	CLAIM(half <= a && half <= b, "no more than either factor");
	CLAIM(b > UINT64_C(1) << 62 || half <= a >> 2, "no more than a quarter by a quarter");
	CLAIM(b < UINT64_C(1) << 61 || half >= a >> 3, "no less than an eighth by an eighth");
	REACHED();
	return 0;
}
