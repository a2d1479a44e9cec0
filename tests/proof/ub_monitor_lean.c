/* SPDX-License-Identifier: MIT */
/* Stands in for lean_of() of lib/core/monitor_cable.c; the harness `monitor_lean` looks at the real one. */
#include "tests/proof/ub_monitor_lean.h"

int32_t __CPROVER_file_local_monitor_cable_c_lean_of(td_ns spent_ns, td_ns reach_ns)
{
	int32_t lean_ppm = nondet_int();

	CLAIM(spent_ns >= 0 && reach_counts(reach_ns), "a time within a reach is asked about");
	ASSUME(ub_within(lean_ppm, 1000000));
	return lean_ppm;
}
