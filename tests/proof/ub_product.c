/* SPDX-License-Identifier: MIT */
/*
 * Stands in for product() of lib/core/decay.c: what a solver cannot find about a product of two numbers of 32 bits and
 * arithmetic knows: with b <= m a product is at most m x a, here for m = 2^32 - 1, 2^30 and 2^30 - 1; with b >= 2^29 it
 * is at least 2^29 x a.
 */
#include "tests/proof/ub.h"

uint64_t __CPROVER_file_local_decay_c_product(uint32_t a, uint32_t b)
{
	uint64_t result = nondet_long();
	uint64_t wide = a;

	ASSUME(result <= (wide << 32) - wide && result <= ((uint64_t)b << 32) - b);
	ASSUME(b > UINT32_C(1) << 30 || result <= wide << 30);
	ASSUME(b >= UINT32_C(1) << 30 || result <= (wide << 30) - wide);
	ASSUME(b < UINT32_C(1) << 29 || result >= wide << 29);
	return result;
}
