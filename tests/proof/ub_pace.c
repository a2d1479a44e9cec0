/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/pace.c, whose harness is `stage 11`. Nothing else looks at what it changes. */
#include "tests/proof/ub_step.h"

void td_pace_started(struct td_step *step, uint8_t axis)
{
	CLAIM(axis < step->rules->axes && ub_axis_ok(&step->core->axis[axis]) && step->core->axis[axis].way < TD_WAYS,
	      "what runs has a way");
}

void td_pace_arrived(struct td_step *step, uint8_t axis)
{
	td_pace_started(step, axis);
	td_report(step, TD_CAUSE_NONE, axis, 0, TD_NO_SWITCH);
}
