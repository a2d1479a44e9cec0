/* SPDX-License-Identifier: MIT */
/* Stands in for piece_of(), roll(), add_piece() and td_budget_sane() of lib/core/budget.c. */
#include "tests/proof/ub_budget.h"

bool ub_budget_sane = true;

bool td_budget_sane(const struct td_budget *budget, enum td_budget_span span)
{
	ASSUME(!ub_budget_sane ||
	       (SANE_SPAN(span) && budget->newest < TD_BUDGET_BUCKETS && time_counts(budget->begin_ns)));
	return ub_budget_sane;
}

struct piece __CPROVER_file_local_budget_c_piece_of(const struct td_budget *budget, enum td_budget_span span, int age)
{
	struct piece piece = {nondet_ns(), nondet_ns()};

	(void)budget;
	CLAIM(ub_budget_sane && span == SPAN && age >= 0 && age < TD_BUDGET_BUCKETS, "a piece of a sane window is asked for");
	ASSUME(piece_ok(piece));
	return piece;
}

void __CPROVER_file_local_budget_c_roll(struct td_budget *budget, td_ns length, td_ns at_ns)
{
	td_ns before_ns = budget->begin_ns;

	CLAIM(ub_budget_sane && length == length_ns() && at_ns <= TD_BUDGET_TIME_MAX_NS, "a sane window rolls");
	if (at_ns < before_ns)
		return;
	budget->begin_ns = nondet_ns();
	budget->newest = nondet_byte();
	ASSUME(budget->newest < TD_BUDGET_BUCKETS);
	ASSUME(budget->begin_ns >= before_ns && budget->begin_ns <= at_ns && at_ns - budget->begin_ns < length_ns());
}

void __CPROVER_file_local_budget_c_add_piece(struct td_budget *budget, td_ns from_ns, td_ns to_ns)
{
	CLAIM(ub_budget_sane && within_newest(budget, from_ns, to_ns),
	      "a piece lies within the newest part");
}
