/* SPDX-License-Identifier: MIT */
/* Stands in for td_axis_apply(): any axis after it that the harness `axis` lets pass. */
#include "tests/proof/ub.h"

enum td_axis_action td_axis_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				  const struct td_axis_input *input)
{
	bool ok = ub_axis_ok(axis) && input->now_ns >= 0;
	bool goes = axis->state == TD_AXIS_WAIT && axis->way < TD_WAYS && input->event == TD_AXIS_GO;
	uint8_t way = axis->way;

	(void)rules;
	*axis = nondet_axis();
	ASSUME(!ok || ub_axis_ok(axis));
	ASSUME(!goes || (axis->state == TD_AXIS_RUN && axis->way == way));
	return (enum td_axis_action)nondet_byte();
}
