/* SPDX-License-Identifier: MIT */
/* Any bytes as a window, any times, one span a run. */
#include "tests/proof/ub_budget.h"


int main(void)
{
	struct td_budget budget = nondet_budget();

#if PROOF_CASE < 4
	ub_budget_sane = nondet_bool();
#endif
#if PROOF_CASE == 0
	td_ns spent_ns = td_budget_spent_ns(&budget, SPAN, nondet_ns());

	CLAIM(spent_ns >= 0 && spent_ns <= SPENT_MAX_NS, "no more is spent than there was");
#elif PROOF_CASE == 1
	td_budget_cut_ns(&budget, SPAN, nondet_ns(), nondet_ns());
#elif PROOF_CASE == 2
	td_budget_start_ns(&budget, SPAN, nondet_ns(), nondet_ns(), nondet_ns());
#elif PROOF_CASE == 3
	td_budget_add(&budget, SPAN, nondet_ns(), nondet_ns());
#else
	td_budget_init(&budget, nondet_ns());
	CLAIM(!SANE_SPAN(SPAN) || td_budget_sane(&budget, SPAN), "a window begins sane");
	td_budget_fill(&budget, SPAN, nondet_ns());
	CLAIM(!SANE_SPAN(SPAN) || td_budget_sane(&budget, SPAN), "a full window is sane");
#endif
	REACHED();
	return 0;
}
