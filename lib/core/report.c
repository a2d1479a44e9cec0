/* SPDX-License-Identifier: MIT */
#include "core/step.h"
#include "core/travel.h"

static void add(struct td_result *result, struct td_news news)
{
	if (result->news_count >= TD_NEWS_MAX)
		result->news_lost++;
	else
		result->news[result->news_count++] = news;
}

void td_report(struct td_step *step, enum td_cause cause, uint8_t axis, uint8_t way, uint8_t sw)
{
	struct td_news news = {.cause = cause, .axis = axis, .way = way, .sw = sw, .role = TD_NO_ROLE};

	if (axis < TD_AXES_MAX && td_held(&step->core->axis[axis])) {
		news.session = step->core->axis[axis].hold.session;
		news.hold = step->core->axis[axis].hold.number;
	}
	add(step->result, news);
}

void td_report_deed(struct td_step *step, enum td_cause cause, uint8_t axis)
{
	add(step->result,
	    (struct td_news){.cause = cause,
			     .axis = axis,
			     .way = TD_NO_WAY,
			     .sw = TD_NO_SWITCH,
			     .role = step->event->role == TD_ROLE_KEEPER ? TD_ROLE_KEEPER : TD_ROLE_VISITOR,
			     .session = step->event->session});
}

void td_report_cut(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	if (!td_held(&step->core->axis[axis]))
		return;
	td_report(step, cause, axis, step->core->axis[axis].way, TD_NO_SWITCH);
	if (cause == TD_CAUSE_END_REACHED || cause == TD_CAUSE_HOLD_LIMIT)
		td_lock_completed(step->core, axis, step->core->axis[axis].way);
	td_apply(step, axis, TD_AXIS_CUT);
}

void td_report_trip(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	struct td_axis *self = &step->core->axis[axis];
	const struct td_axis_input input = {.event = TD_AXIS_TRIP, .now_ns = step->now_ns, .cause = cause};
	uint8_t powered = self->state == TD_AXIS_RUN ? self->way : (uint8_t)TD_NO_WAY;

	if (self->state == TD_AXIS_TRIPPED)
		return;
	td_report(step, cause, axis, self->way, TD_NO_SWITCH);
	td_power_apply(step, axis, &input);
	td_travel_forget(self);
	td_lock_tripped(step, axis, powered);
}
