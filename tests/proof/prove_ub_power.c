/* SPDX-License-Identifier: MIT */
#include "tests/proof/ub_step.h"

struct td_axis_input nondet_axis_input(void);

int main(void)
{
	uint8_t axis = ub_step_any();
	const struct td_axis_input input = nondet_axis_input();
	struct td_axis *self = &ub.core.axis[axis];
	bool goes = self->state == TD_AXIS_WAIT && input.event == TD_AXIS_GO;
	uint8_t way = self->way;

	ASSUME(input.now_ns >= 0);
	td_power_duty_refusal(&ub.step, axis);
	td_power_duty_spent(&ub.step, axis);
	td_power_supply_grants(&ub.step, axis);
	td_power_apply(&ub.step, axis, &input);
	CLAIM(!goes || (self->state == TD_AXIS_RUN && self->way == way), "who waits can go");
	ub_step_claim(NEWS_OF_AXIS);
	REACHED();
	return 0;
}
