/* SPDX-License-Identifier: MIT */
/* Any bytes as axis and as rules. */
#include "core/travel.h"
#include "tests/proof/ub.h"

int main(void)
{
	struct td_axis axis = nondet_axis();
	const struct td_axis_rules rules = nondet_axis_rules();
	td_ns now_ns = nondet_ns();

	bool ok = axis.spent_ns[0] >= 0 && axis.spent_ns[1] >= 0;

#if PROOF_CASE == 0
	td_travel_spent(&axis, &rules, nondet_byte(), now_ns);
	td_travel_deadline(&axis, now_ns);
	td_travel_commit(&axis, &rules, now_ns);
	CLAIM(!ok || (axis.spent_ns[0] >= 0 && axis.spent_ns[1] >= 0), "times spent are times");
#elif PROOF_CASE == 1
	ASSUME(ub_axis_rules_ok(&rules));
	td_travel_restore(&axis, &rules, now_ns);
	CLAIM(!ok || (axis.spent_ns[0] >= 0 && axis.spent_ns[1] >= 0), "times spent are times");
	td_travel_at_end(&axis, &rules, nondet_byte());
	CLAIM(!ok || (axis.spent_ns[0] >= 0 && axis.spent_ns[1] >= 0), "times spent at an end are times");
	td_travel_forget(&axis);
#else
	ASSUME(ok);
	CLAIM(td_travel_position_ppm(&axis, &rules, now_ns) >= -1, "a place is one or none");
#endif
	REACHED();
	return 0;
}
