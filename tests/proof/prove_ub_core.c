/* SPDX-License-Identifier: MIT */
/* A whole step, and the beginning, between stand-ins for the parts. Any event and any rules that ub.h lets pass. */
#include "tests/proof/ub_step.h"

int main(void)
{
#if PROOF_CASE == 0
	ub_step_any();
	td_core_step(&ub.core, &ub.rules, &ub.event, &ub.result);
	ub.lost = 0;
	ub_step_claim(NEWS_LOST_MAX);
#else
	ub.rules = nondet_rules();
	ub.core = nondet_core();
	td_core_init(&ub.core, &ub.rules, nondet_ns());
	CLAIM(ub_core_ok(&ub.core), "a core begins in order");
#endif
	REACHED();
	return 0;
}
