/* SPDX-License-Identifier: MIT */
/* Stands in for td_budget_spent_ns() of lib/core/budget.c; the harness `budget SPAN 0` looks at the real one. */
#include "tests/proof/ub_budget.h"

td_ns td_budget_spent_ns(const struct td_budget *budget, enum td_budget_span span, td_ns from_ns)
{
	td_ns spent_ns = nondet_ns();

	(void)budget;
	(void)span;
	(void)from_ns;
	ASSUME(spent_ns >= 0 && spent_ns <= SPENT_MAX_NS);
	return spent_ns;
}
