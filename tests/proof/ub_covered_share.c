/* SPDX-License-Identifier: MIT */
/* Stands in for covered() and constants() of lib/core/monitor_duty.c; the harness `monitor_share` looks at the real ones. */
#include "tests/proof/ub_heat.h"

double __CPROVER_file_local_monitor_duty_c_covered(double x)
{
	double share = nondet_double();

	CLAIM(x >= 0, "time constants are passed");
	ASSUME(share >= 0 && share <= 1);
	return share;
}

double __CPROVER_file_local_monitor_duty_c_constants(td_ns time_ns, td_ns tau_ns)
{
	double x = nondet_double();

	(void)tau_ns;
	CLAIM(time_ns >= 0, "a span is asked about");
	ASSUME(x >= 0 && x <= 0x1p63);
	return x;
}
