/* SPDX-License-Identifier: MIT */
/* Any bytes, as many as PROOF_BYTES at most: each byte more is one more round of the same loop. */
#include "core/crc.h"
#include "tests/proof/ub.h"

unsigned char ub_bytes[PROOF_BYTES];

int main(void)
{
	size_t count = nondet_byte();

	ASSUME(count <= PROOF_BYTES);
	for (size_t i = 0; i < PROOF_BYTES; i++)
		ub_bytes[i] = nondet_byte();
	td_crc32(ub_bytes + PROOF_BYTES - count, count);
	REACHED();
	return 0;
}
