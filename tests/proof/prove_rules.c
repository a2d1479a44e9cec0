/* SPDX-License-Identifier: MIT */
/* td_rules_check() of any bytes as rules: it ends, reads nothing outside, and what it lets pass is in range. */
#include "tests/proof/proof.h"

static void in_range(const struct td_axis_rules *axis)
{
	CLAIM(axis->dead_ns >= TD_DEAD_TIME_MIN_NS, "R3: no rules without dead time");
	CLAIM(axis->rest_ns >= TD_REST_MIN_NS, "R3: no rules without rest");
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		CLAIM(axis->way[way].limit_ns > 0 && axis->way[way].limit_ns <= 10 * TD_REACH_MAX_NS,
		      "R4, R6: no rules without limit");
		CLAIM(axis->way[way].leave_ns >= TD_LEAVE_MIN_NS, "R5: no rules without leave limit");
	}
	CLAIM(axis->way[0].end_switch == TD_NO_SWITCH || axis->way[0].end_switch != axis->way[1].end_switch,
	      "R2: two ends are two switches");
}

int main(void)
{
	const struct td_rules rules = nondet_rules();

	if (td_rules_check(&rules).fault != TD_RULES_OK)
		return 0;
	CLAIM(rules.axes >= 1 && rules.axes <= TD_AXES_MAX, "as many axes as there may be");
	CLAIM(rules.switches <= TD_SWITCHES_MAX, "as many switches as there may be");
	for (uint8_t axis = 0; axis < TD_AXES_MAX && axis < rules.axes; axis++)
		in_range(&rules.axis[axis]);
	return 0;
}
