/* SPDX-License-Identifier: MIT */
/* Stands in for what ends a hold or trips an axis (td_report_cut(), td_report_trip()), where nothing may. */
#include "core/step.h"
#include "tests/proof/proof.h"

void td_report_cut(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	(void)cause;
	if (!td_held(&step->core->axis[axis]))
		return;
	CLAIM(false, "R2, R4, R5, R6, R7, R12: nothing is cut before the deadline");
	ASSUME(false);
}

void td_report_trip(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	(void)cause;
	if (step->core->axis[axis].state == TD_AXIS_TRIPPED)
		return;
	CLAIM(false, "R4, R5, R8: nothing trips before the deadline");
	ASSUME(false);
}
