/* SPDX-License-Identifier: MIT */
/* Any bytes as axis, rules and input. What is held has a way afterwards: ub_axis_ok() of ub.h. */
#include "tests/proof/ub.h"

int main(void)
{
	struct td_axis axis = nondet_axis();
	const struct td_axis_rules rules = nondet_axis_rules();
	const struct td_axis_input input = nondet_axis_input();
	bool ok = ub_axis_ok(&axis) && input.now_ns >= 0;
	bool goes = axis.state == TD_AXIS_WAIT && axis.way < TD_WAYS && input.event == TD_AXIS_GO;
	uint8_t way = axis.way;

	td_axis_outputs(&axis);
	td_axis_moving(&axis, &rules, nondet_ns());
	td_axis_earliest(&axis, &rules, nondet_byte());
	td_axis_written(&axis, nondet_ns());
	CLAIM(!ok || ub_axis_ok(&axis), "writing moves nothing");
	td_axis_apply(&axis, &rules, &input);
	CLAIM(!ok || ub_axis_ok(&axis), "what is held has a way");
	CLAIM(!goes || (axis.state == TD_AXIS_RUN && axis.way == way), "who waits can go");
	td_axis_init(&axis, nondet_ns());
	CLAIM(ub_axis_ok(&axis), "at the start nothing is held");
	REACHED();
	return 0;
}
