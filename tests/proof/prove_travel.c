/* SPDX-License-Identifier: MIT */
/* The real td_travel_spent() answers as travel_abstract.c does for it, for any axis, rules, way and time. */
#include "core/travel.h"
#include "tests/proof/proof.h"

int main(void)
{
	struct td_axis_rules rules = nondet_rules().axis[0];
	struct td_axis axis = nondet_axis();
	uint8_t way = nondet_byte();
	td_ns now_ns = nondet_ns();

	ASSUME(now_ns >= 0 && axis.since_ns >= 0 && axis.spent_ns[0] >= 0 && axis.spent_ns[1] >= 0);
	ASSUME(rules.way[0].reach_ns >= 0 && rules.way[1].reach_ns >= 0);

	td_ns spent_ns = td_travel_spent(&axis, &rules, way, now_ns);

	if (way >= TD_WAYS)
		CLAIM(spent_ns == 0, "no time is spent in a way that does not exist");
	else if (axis.state != TD_AXIS_RUN || axis.way >= TD_WAYS || now_ns <= axis.since_ns)
		CLAIM(spent_ns == axis.spent_ns[way], "without a run the time spent is what it was");
	else if (axis.way == way)
		CLAIM(spent_ns == td_time_after(axis.spent_ns[way], td_time_between(axis.since_ns, now_ns)),
		      "R4, R6: the run adds to the time spent in its way");
	else
		CLAIM(spent_ns >= 0 && spent_ns <= axis.spent_ns[way], "R4, R6: the other way gets nothing but back");
	return 0;
}
