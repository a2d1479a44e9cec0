/* SPDX-License-Identifier: MIT */
/*
 * R10, R11: how a latch, a trip and a lock end. A reset clears, it never moves anything, and it is told with who did it.
 *
 *                      keeper                     visitor
 *   latched stop       any time                   never
 *   trip               any time                   those of TD_VISITOR_RESET_TABLE, one axis at a time,
 *                                                 visitor_resets in any hour
 *   lock of a way      with the trip, or later    never
 */
#include "core/step.h"
#include "core/travel.h"

/* What became of the reset so far: "still there" beats "done" beats "nothing to reset". */
static void outcome(struct td_step *step, enum td_cause cause)
{
	if (step->result->answer != TD_CAUSE_STILL_THERE)
		step->result->answer = cause;
}

static void done(struct td_step *step, uint8_t axis)
{
	td_report_deed(step, TD_CAUSE_RESET_DONE, axis);
	outcome(step, TD_CAUSE_RESET_DONE);
}

static bool by_keeper(const struct td_step *step)
{
	return step->event->role == TD_ROLE_KEEPER;
}

static bool is_tripped(const struct td_step *step, uint8_t axis)
{
	return step->core->axis[axis].state == TD_AXIS_TRIPPED;
}

static bool is_locked(const struct td_step *step, uint8_t axis)
{
	return td_lock_holds(step->core, axis, 0) || td_lock_holds(step->core, axis, 1);
}

/* R11: what this axis needs is within a visitor's rights. */
static bool visitor_may(const struct td_step *step, uint8_t axis)
{
	return step->rules->visitor_resets > 0 && is_tripped(step, axis) &&
	       td_cause_visitor_resets(step->core->axis[axis].trip);
}

/* What tripped the axis, or would at once do so again. */
static bool still_there(const struct td_step *step, uint8_t axis)
{
	const struct td_way_rules *way = step->rules->axis[axis].way;

	return td_watch_both_ends(step->core, step->rules, axis) ||
	       td_sense_restless(step->core, step->rules, way[0].end_switch) ||
	       td_sense_restless(step->core, step->rules, way[1].end_switch);
}

/* Why not; TD_CAUSE_NONE if it may be done. What counts is taken last: a reset that is refused costs nothing. */
static enum td_cause refusal(struct td_step *step, uint8_t axis)
{
	if (!by_keeper(step) && !visitor_may(step, axis))
		return TD_CAUSE_NOT_ALLOWED;
	if (still_there(step, axis))
		return TD_CAUSE_STILL_THERE;
	if (!by_keeper(step) &&
	    !td_quota_take(&step->core->resets, step->rules->visitor_resets, step->now_ns))
		return TD_CAUSE_RESETS_SPENT;
	return TD_CAUSE_NONE;
}

static void clear_trip(struct td_step *step, uint8_t axis)
{
	td_apply(step, axis, TD_AXIS_RESET);
	/* An end that is active now is where the axis stands. */
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t end = step->rules->axis[axis].way[way].end_switch;

		td_sense_forgive(step->core, end);
		if (td_sense_active(step->core, end))
			td_travel_at_end(&step->core->axis[axis], &step->rules->axis[axis], way);
	}
}

static void reset_axis(struct td_step *step, uint8_t axis)
{
	if (!is_tripped(step, axis) && !is_locked(step, axis))
		return;
	enum td_cause why_not = refusal(step, axis);

	if (why_not != TD_CAUSE_NONE) {
		outcome(step, why_not);
		return;
	}
	if (by_keeper(step))
		td_lock_clear(step->core, axis);
	if (is_tripped(step, axis))
		clear_trip(step, axis);
	td_overtake(step->core, axis, step->now_ns);
	done(step, axis);
}

static void reset_latch(struct td_step *step)
{
	if (step->core->latch == 0)
		return;
	if (td_sense_maybe_active(step->core, step->rules->stop_switch) ||
	    td_sense_restless(step->core, step->rules, step->rules->stop_switch)) {
		outcome(step, TD_CAUSE_STILL_THERE);
		return;
	}
	step->core->latch = 0;
	td_sense_forgive(step->core, step->rules->stop_switch);
	td_overtake_all(step->core, step->now_ns);
	done(step, TD_NO_AXIS);
}

void td_reset(struct td_step *step)
{
	uint8_t only = step->event->axis;

	step->result->answer = TD_CAUSE_NOTHING_TO_RESET;
	if (only < step->rules->axes) {
		reset_axis(step, only);
	} else if (!by_keeper(step)) {
		step->result->answer = TD_CAUSE_NOT_ALLOWED;
	} else if (only == TD_ALL_AXES) {
		reset_latch(step);
		for (uint8_t axis = 0; axis < step->rules->axes; axis++)
			reset_axis(step, axis);
	} else {
		step->result->answer = TD_CAUSE_BAD_REQUEST;
	}
}
