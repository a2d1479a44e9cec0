/* SPDX-License-Identifier: MIT */
/* Stands in for td_crc32(), whose harness is `crc`: any sum of bytes that are there. */
#include "core/crc.h"
#include "tests/proof/ub.h"

uint32_t td_crc32(const void *bytes, size_t count)
{
	CLAIM(__CPROVER_r_ok(bytes, count), "the bytes are there");
	return nondet_word();
}
