/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/budget.c, but for the lengths of its windows: any answer within what the harnesses of it prove. */
#include "tests/proof/ub_duty.h"

void td_budget_init(struct td_budget *budget, td_ns now_ns)
{
	(void)now_ns;
	*budget = nondet_budget();
}

void td_budget_fill(struct td_budget *budget, enum td_budget_span span, td_ns now_ns)
{
	(void)span;
	td_budget_init(budget, now_ns);
}

bool td_budget_sane(const struct td_budget *budget, enum td_budget_span span)
{
	(void)budget;
	(void)span;
	return nondet_bool();
}

void td_budget_add(struct td_budget *budget, enum td_budget_span span, td_ns from_ns, td_ns to_ns)
{
	(void)span;
	(void)from_ns;
	td_budget_init(budget, to_ns);
}

td_ns td_budget_spent_ns(const struct td_budget *budget, enum td_budget_span span, td_ns from_ns)
{
	td_ns spent_ns = nondet_ns();

	(void)budget;
	(void)span;
	(void)from_ns;
	ASSUME(spent_ns >= 0 && spent_ns <= SPENT_MAX_NS);
	return spent_ns;
}

td_ns td_budget_cut_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns, td_ns since_ns)
{
	(void)budget;
	(void)span;
	(void)allowed_ns;
	(void)since_ns;
	return nondet_ns();
}

td_ns td_budget_start_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns, td_ns least_ns,
			 td_ns now_ns)
{
	(void)least_ns;
	return td_budget_cut_ns(budget, span, allowed_ns, now_ns);
}
