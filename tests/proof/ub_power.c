/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/power.c: any axis after it that the harness `power` lets pass. */
#include "tests/proof/ub_step.h"

enum td_axis_action td_power_apply(struct td_step *step, uint8_t axis, const struct td_axis_input *input)
{
	struct td_axis *self = &step->core->axis[axis];
	bool goes = self->state == TD_AXIS_WAIT && input->event == TD_AXIS_GO;
	uint8_t way = self->way;

	CLAIM(axis < TD_AXES_MAX && ub_axis_ok(self) && input->now_ns >= 0, "power is for an axis that is in order");
	*self = nondet_axis();
	ASSUME(ub_axis_ok(self) && (!goes || (self->state == TD_AXIS_RUN && self->way == way)));
	step->core->duty_cut_ns[axis] = nondet_ns();
	return (enum td_axis_action)nondet_byte();
}

enum td_cause td_power_duty_refusal(const struct td_step *step, uint8_t axis)
{
	(void)step;
	CLAIM(axis < TD_AXES_MAX, "duty is asked for an axis");
	return nondet_bool() ? TD_CAUSE_NONE : TD_CAUSE_DUTY_SPENT;
}

bool td_power_duty_spent(const struct td_step *step, uint8_t axis)
{
	(void)step;
	CLAIM(axis < TD_AXES_MAX, "duty is asked for an axis");
	return nondet_bool();
}

bool td_power_supply_grants(struct td_step *step, uint8_t axis)
{
	CLAIM(axis < TD_AXES_MAX, "the supply is asked for an axis");
	if (nondet_bool())
		td_report(step, TD_CAUSE_SUPPLY_WAIT, axis, TD_NO_WAY, TD_NO_SWITCH);
	return nondet_bool();
}
