/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/report.c: what the harnesses `report` prove of it. What the news says is looked at nowhere. */
#include "tests/proof/ub_step.h"

static void news(struct td_step *step, uint16_t most)
{
	uint16_t lost = nondet_byte();

	CLAIM(step->result->news_count <= TD_NEWS_MAX, "news has its place");
	step->result->news_count = nondet_byte();
	ASSUME(lost <= most && step->result->news_count <= TD_NEWS_MAX);
	step->result->news_lost = (uint16_t)(step->result->news_lost + lost);
}

void td_report(struct td_step *step, enum td_cause cause, uint8_t axis, uint8_t way, uint8_t sw)
{
	(void)cause;
	(void)axis;
	(void)way;
	(void)sw;
	news(step, 1);
}

void td_report_deed(struct td_step *step, enum td_cause cause, uint8_t axis)
{
	td_report(step, cause, axis, TD_NO_WAY, TD_NO_SWITCH);
}

void td_report_cut(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	struct td_axis *self = &step->core->axis[axis];

	(void)cause;
	CLAIM(axis < TD_AXES_MAX && ub_axis_ok(self) && step->now_ns >= 0, "an axis in order is cut");
	if (!td_held(self))
		return;
	*self = nondet_axis();
	ASSUME(ub_axis_ok(self));
	step->core->duty_cut_ns[axis] = nondet_ns();
	step->core->suspect = nondet_word();
	news(step, NEWS_OF_CUT);
}

void td_report_trip(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	struct td_axis *self = &step->core->axis[axis];

	(void)cause;
	CLAIM(axis < TD_AXES_MAX && ub_axis_ok(self) && step->now_ns >= 0, "an axis in order trips");
	if (self->state == TD_AXIS_TRIPPED)
		return;
	*self = nondet_axis();
	ASSUME(ub_axis_ok(self));
	step->core->duty_cut_ns[axis] = nondet_ns();
	step->core->suspect = nondet_word();
	step->core->locked = nondet_word();
	news(step, NEWS_OF_TRIP);
}
