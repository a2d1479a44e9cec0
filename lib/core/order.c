/* SPDX-License-Identifier: MIT */
#include "core/step.h"

static void stop(struct td_step *step)
{
	uint8_t only = step->event->axis;
	bool all = only >= step->rules->axes; /* a stop for an axis that does not exist stops everything */

	for (uint8_t axis = 0; axis < step->rules->axes; axis++) {
		if (!all && axis != only)
			continue;
		td_overtake(step->core, axis, td_event_heard_ns(step->event, step->now_ns));
		td_report_cut(step, axis, TD_CAUSE_STOP_ASKED);
	}
	step->result->answer = TD_CAUSE_STOPPED;
}

static void latch(struct td_step *step, uint8_t why, enum td_cause cause)
{
	if ((step->core->latch & why) == 0)
		td_report(step, cause, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	step->core->latch |= why;
	td_overtake_all(step->core, td_event_heard_ns(step->event, step->now_ns));
	step->result->answer = cause;
}

static void release(struct td_step *step)
{
	const struct td_event *event = step->event;

	step->result->answer = TD_CAUSE_NOT_HELD;
	if (event->axis >= step->rules->axes)
		return;
	const struct td_axis *axis = &step->core->axis[event->axis];

	if (!td_held(axis) || axis->hold.session != event->session || axis->hold.number != event->hold)
		return;
	td_report_cut(step, event->axis, TD_CAUSE_LET_GO);
	step->result->answer = TD_CAUSE_LET_GO;
}

static void end_session(struct td_step *step, enum td_cause cause)
{
	for (uint8_t axis = 0; axis < step->rules->axes; axis++)
		if (step->core->axis[axis].hold.session == step->event->session)
			td_report_cut(step, axis, cause);
}

/* R12: what the model does not know, the keeper may; nothing that moves is believed to be cold. */
static bool cool_axis(struct td_step *step, uint8_t axis)
{
	if (td_axis_moving(&step->core->axis[axis], &step->rules->axis[axis], step->now_ns))
		return false;
	td_duty_init(&step->core->duty[axis], step->now_ns);
	td_report_deed(step, TD_CAUSE_COOLED, axis);
	return true;
}

static void cooled(struct td_step *step)
{
	uint8_t only = step->event->axis;

	step->result->answer = TD_CAUSE_COOLED;
	if (step->event->role != TD_ROLE_KEEPER)
		step->result->answer = TD_CAUSE_NOT_ALLOWED;
	else if (only != TD_ALL_AXES && only >= step->rules->axes)
		step->result->answer = TD_CAUSE_BAD_REQUEST;
	if (step->result->answer != TD_CAUSE_COOLED)
		return;
	for (uint8_t axis = 0; axis < step->rules->axes; axis++)
		if ((only == TD_ALL_AXES || axis == only) && !cool_axis(step, axis))
			step->result->answer = TD_CAUSE_STILL_MOVING;
}

static void arm(struct td_step *step)
{
	step->result->answer = TD_CAUSE_NOT_ARMED;
	if (!step->core->levels_known)
		return;
	if (!step->core->armed)
		td_report(step, TD_CAUSE_ARMED, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	step->core->armed = true;
	td_overtake_all(step->core, step->now_ns);
	step->result->answer = TD_CAUSE_ARMED;
}

static void disarm(struct td_step *step)
{
	if (step->core->armed)
		td_report(step, TD_CAUSE_DISARMED, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	step->core->armed = false;
	step->result->answer = TD_CAUSE_DISARMED;
}

/* R15: nothing that was known of the switches is known any more. */
static void lines_lost(struct td_step *step)
{
	for (uint8_t axis = 0; axis < step->rules->axes; axis++)
		td_report_trip(step, axis, TD_CAUSE_LINES_LOST);
	disarm(step);
	step->core->levels_known = false;
}

/* The core itself, or its memory, is not as it should be: off, until a keeper has looked. */
static void breach(struct td_step *step)
{
	for (uint8_t axis = 0; axis < step->rules->axes; axis++)
		td_report_trip(step, axis, TD_CAUSE_INTERNAL);
}

static void written(struct td_step *step)
{
	for (uint8_t axis = 0; axis < step->rules->axes; axis++)
		td_axis_written(&step->core->axis[axis], step->now_ns);
}

static void untwisted(struct td_step *step)
{
	step->result->answer = td_cable_untwisted(step);
	if (step->result->answer == TD_CAUSE_UNTWISTED)
		td_overtake(step->core, step->rules->cable.drive, step->now_ns);
}

void td_order(struct td_step *step)
{
	switch (step->event->kind) {
	case TD_EVENT_STOP: stop(step); break;
	case TD_EVENT_LATCH: latch(step, TD_LATCH_ASKED, TD_CAUSE_LATCH_ASKED); break;
	case TD_EVENT_LATCH_KEPT: latch(step, TD_LATCH_KEPT, TD_CAUSE_LATCH_KEPT); break;
	case TD_EVENT_RELEASE: release(step); break;
	case TD_EVENT_GONE: end_session(step, TD_CAUSE_CLIENT_GONE); break;
	case TD_EVENT_TURN_OVER: end_session(step, TD_CAUSE_TURN_OVER); break;
	case TD_EVENT_RESET: td_reset(step); break;
	case TD_EVENT_ARM: arm(step); break;
	case TD_EVENT_DISARM: disarm(step); break;
	case TD_EVENT_LINES_LOST: lines_lost(step); break;
	case TD_EVENT_WRITTEN: written(step); break;
	case TD_EVENT_COOLED: cooled(step); break;
	case TD_EVENT_BREACH: breach(step); break;
	case TD_EVENT_LOCK_KEPT: td_lock_kept(step); break;
	case TD_EVENT_UNTWISTED: untwisted(step); break;
	case TD_EVENT_TIME:
	case TD_EVENT_LEVELS:
	case TD_EVENT_REQUEST:
	case TD_EVENT_KINDS:
	default: break;
	}
}

void td_order_stop_input(struct td_step *step)
{
	enum td_cause answer = step->result->answer;
	uint8_t sw = step->rules->stop_switch;
	bool demanded = td_sense_active(step->core, sw) || td_sense_chatters(step->core, sw);

	if (demanded && (step->core->latch & TD_LATCH_INPUT) == 0)
		latch(step, TD_LATCH_INPUT, TD_CAUSE_LATCH_INPUT);
	step->result->answer = answer;
}
