/* SPDX-License-Identifier: MIT */
/* Stands in for left_of() of lib/core/budget.c; the harness `budget_parts SPAN 3` looks at the real one. */
#include "tests/proof/ub_budget.h"

td_ns __CPROVER_file_local_budget_c_left_of(struct piece piece, td_ns from_ns)
{
	(void)from_ns;
	CLAIM(piece_ok(piece), "a piece is in range");
	return (td_ns)(nondet_long() & (LEFT_LIMIT_NS - 1));
}
