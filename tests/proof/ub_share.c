/* SPDX-License-Identifier: MIT */
/* Stands in for left_after() and doubled() of lib/core/monitor_duty.c; the harness `monitor_share` looks at the real ones. */
#include "tests/proof/ub_heat.h"

static double any_share(void)
{
	double share = nondet_double();

	ASSUME(share >= 0 && share <= 1);
	return share;
}

double __CPROVER_file_local_monitor_duty_c_left_after(double x, double inverse, double rest)
{
	CLAIM(x >= 0 && x <= 1.0 / 64 && inverse >= 0 && inverse <= 0.5 && rest >= 0 && rest <= 1, "a short span is asked about");
	return any_share();
}

double __CPROVER_file_local_monitor_duty_c_doubled(double share)
{
	CLAIM(share >= 0 && share <= 1, "a share is no more than all");
	return any_share();
}
