/* SPDX-License-Identifier: MIT */
/* Until td_travel_deadline() a run has spent less than the limit that was asked about: what spent_abstract.c takes from it. */
#include "core/travel.h"
#include "tests/proof/proof.h"

int main(void)
{
	struct td_axis_rules rules = nondet_rules().axis[0];
	struct td_axis axis = nondet_axis();
	td_ns limit_ns = nondet_ns();
	td_ns at_ns = nondet_ns();

	axis.state = TD_AXIS_RUN;
	ASSUME(axis.way < TD_WAYS && axis.since_ns >= 0 && axis.spent_ns[axis.way] >= 0);
	ASSUME(at_ns >= axis.since_ns && at_ns < td_travel_deadline(&axis, limit_ns));
	CLAIM(td_travel_spent(&axis, &rules, axis.way, at_ns) < limit_ns,
	      "R4, R5, R6: until the deadline less than the limit is spent");
	return 0;
}
