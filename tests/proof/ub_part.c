/* SPDX-License-Identifier: MIT */
/* Stands in for add_part() of lib/core/budget.c; the harness `budget_parts SPAN 4` looks at the real one. */
#include "tests/proof/ub_budget.h"

td_ns __CPROVER_file_local_budget_c_add_part(struct td_budget *budget, td_ns length, td_ns from_ns, td_ns to_ns)
{
	td_ns end_ns = nondet_ns();

	CLAIM(ub_budget_sane && length == length_ns() && run_ok(from_ns, to_ns), "a run is added to a sane window");
	ASSUME(end_ns <= TD_BUDGET_TIME_MAX_NS);
	*budget = nondet_budget();
	return end_ns;
}
