/* SPDX-License-Identifier: MIT */
/* lean_of() of lib/core/monitor_cable.c, for what ub_monitor_lean.c asks for. */
#include "tests/proof/ub_monitor_lean.h"

/* A cell is a factor of two of the reach; together they are all. */
enum { FIRST_CELL = 23, LAST_CELL = 39 };
_Static_assert(TD_REACH_MIN_NS >> FIRST_CELL == 1 && TD_REACH_MAX_NS >> LAST_CELL == 1, "the cells are all reaches");

static void lean(int cell)
{
	td_ns spent_ns = nondet_ns();
	td_ns reach_ns = nondet_ns();

	ASSUME(spent_ns >= 0 && reach_counts(reach_ns) && reach_ns >> cell == 1);
	__CPROVER_file_local_monitor_cable_c_lean_of(spent_ns, reach_ns);
}

int main(void)
{
	for (int cell = FIRST_CELL; cell <= LAST_CELL; cell++)
		lean(cell);
	REACHED();
	return 0;
}
