/* SPDX-License-Identifier: MIT */
/* Any bytes as core, as rules and as what was kept; the time it was taken is one. */
#include "core/record.h"
#include "tests/proof/ub_keep.h"

int main(void)
{
	const struct td_rules rules = nondet_rules();
	struct td_core core = nondet_core();
	struct td_keep keep = nondet_keep();
	td_ns taken_ns = nondet_ns();

	ASSUME(taken_ns >= 0);
#if PROOF_CASE == 0
	td_record_take(&core, &rules, nondet_bool(), taken_ns, &keep);
#else
	td_record_restore(&core, &rules, &keep, taken_ns);
#endif
	REACHED();
	return 0;
}
