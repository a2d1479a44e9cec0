/* SPDX-License-Identifier: MIT */
/* lib/core/keep.c: anything to keep, any bytes as a record, as many as one has or PROOF_COUNT of them. */
#include "tests/proof/ub_keep.h"

struct record {
	uint8_t bytes[TD_KEEP_SIZE + PROOF_BYTES];
};

struct record nondet_record(void);

int main(void)
{
	struct td_keep keep = nondet_keep();
	struct record record = nondet_record();
	uint32_t machine = nondet_word();

#if PROOF_CASE == 0
	td_keep_take(&keep, machine, nondet_ns(), record.bytes + PROOF_BYTES);
#elif PROOF_CASE == 1
	td_keep_restore(&keep, record.bytes + PROOF_BYTES, TD_KEEP_SIZE, machine, nondet_ns(), nondet_ns());
#else
	enum { COUNT = PROOF_COUNT };

	td_keep_restore(&keep, record.bytes + TD_KEEP_SIZE + PROOF_BYTES - COUNT, COUNT, machine, nondet_ns(), nondet_ns());
#endif
	REACHED();
	return 0;
}
