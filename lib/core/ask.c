/* SPDX-License-Identifier: MIT */
#include "core/step.h"
#include "core/travel.h"

/* Every start condition but dead time and rest; TD_CAUSE_NONE if all are met. */
static enum td_cause refusal(const struct td_step *step, uint8_t axis, uint8_t way)
{
	const struct td_core *core = step->core;
	const struct td_axis *self = &core->axis[axis];
	const struct td_way_rules *rules = &step->rules->axis[axis].way[way];

	if (!core->armed)
		return TD_CAUSE_NOT_ARMED;
	if (core->latch != 0)
		return TD_CAUSE_LATCHED;
	if (self->state == TD_AXIS_TRIPPED)
		return TD_CAUSE_TRIPPED;
	if (td_lock_holds(core, axis, way))
		return TD_CAUSE_WAY_LOCKED;
	if (td_sense_maybe_active(core, rules->end_switch))
		return TD_CAUSE_AT_END;
	/* With a margin of nothing, an end that was left by hand has no powered time left either. */
	if (self->state != TD_AXIS_RUN && self->spent_ns[way] >= rules->limit_ns)
		return TD_CAUSE_AT_STOP;
	if (td_bar_blocks(core, step->rules, axis, way) || td_bar_disturbs(core, step->rules, axis))
		return TD_CAUSE_BARRED_START;
	if (td_cable_blocks(core, step->rules, axis, way))
		return TD_CAUSE_TWIST_LIMIT;
	return td_power_duty_refusal(step, axis);
}

static bool well_formed(const struct td_step *step)
{
	const struct td_event *event = step->event;

	return event->axis < step->rules->axes && event->axis < TD_AXES_MAX && event->way < TD_WAYS &&
	       event->session != 0 && event->hold != 0 && event->lease_ns >= TD_LEASE_MIN_NS &&
	       event->lease_ns <= TD_LEASE_MAX_NS;
}

/* The lease counts from when the request was heard, so one that was queued gains nothing by it. */
static td_ns lease_end_ns(const struct td_step *step)
{
	return td_time_after(td_event_heard_ns(step->event, step->now_ns), step->event->lease_ns);
}

static bool is_holder(const struct td_axis *axis, const struct td_event *event)
{
	return td_held(axis) && axis->hold.session == event->session && axis->hold.number == event->hold;
}

static enum td_cause renew(struct td_step *step, struct td_axis *axis)
{
	const struct td_event *event = step->event;

	if (!is_holder(axis, event))
		return TD_CAUSE_HOLD_ENDED;
	if (event->way != axis->way)
		return TD_CAUSE_BAD_REQUEST;
	if (event->seq <= axis->hold.seq)
		return TD_CAUSE_STALE;
	axis->hold.seq = event->seq;
	axis->hold.lease_end_ns = lease_end_ns(step);
	return TD_CAUSE_RENEWED;
}

/* R11: a hold number is used once; a lower one is older. */
static bool used_up(const struct td_axis *axis, const struct td_event *event)
{
	return axis->hold.session == event->session && event->hold <= axis->hold.number;
}

static void begin(struct td_step *step, struct td_axis *axis)
{
	const struct td_event *event = step->event;
	const struct td_axis_input input = {
		.event = TD_AXIS_ASK,
		.now_ns = step->now_ns,
		.way = event->way,
		.hold = {event->session, event->hold, 0, lease_end_ns(step)},
	};

	if (axis->state == TD_AXIS_RUN)
		td_report(step, TD_CAUSE_REPLACED, event->axis, axis->way, TD_NO_SWITCH);
	td_power_apply(step, event->axis, &input);
}

static enum td_cause ask(struct td_step *step, struct td_axis *axis)
{
	const struct td_event *event = step->event;

	if (is_holder(axis, event))
		return TD_CAUSE_STALE;
	if (used_up(axis, event))
		return TD_CAUSE_HOLD_ENDED;
	if (td_held(axis) && axis->hold.session != event->session)
		return TD_CAUSE_HELD_BY_OTHER;
	td_travel_restore(axis, &step->rules->axis[event->axis], step->now_ns);

	enum td_cause why_not = refusal(step, event->axis, event->way);

	if (why_not == TD_CAUSE_NONE) {
		begin(step, axis);
		return TD_CAUSE_QUEUED;
	}
	/* Who asks for another way does not want the present one any more, even if the other is refused. */
	td_report_cut(step, event->axis, TD_CAUSE_REPLACED);
	axis->hold = (struct td_hold){event->session, event->hold, 0, 0};
	return why_not;
}

static enum td_cause judge(struct td_step *step)
{
	const struct td_event *event = step->event;

	if (!well_formed(step))
		return TD_CAUSE_BAD_REQUEST;
	if (td_event_heard_ns(event, step->now_ns) <= step->core->stop_ns[event->axis])
		return event->seq > 0 ? TD_CAUSE_HOLD_ENDED : TD_CAUSE_OVERTAKEN;
	if (lease_end_ns(step) <= step->now_ns)
		return TD_CAUSE_STALE;

	struct td_axis *axis = &step->core->axis[event->axis];

	return event->seq > 0 ? renew(step, axis) : ask(step, axis);
}

void td_ask(struct td_step *step)
{
	if (step->event->kind != TD_EVENT_REQUEST)
		return;
	step->result->answer = judge(step);
	/* A renewal that comes too late is answered, but it is no news: the end of its hold was. */
	if (step->event->seq == 0 && td_cause_kind(step->result->answer) == TD_KIND_REFUSAL)
		td_report(step, step->result->answer, step->event->axis, step->event->way, TD_NO_SWITCH);
}

/* The answer to a request tells what has become of it when the step is over. */
static void answer(struct td_step *step, uint8_t axis, enum td_cause cause)
{
	if (step->event->kind == TD_EVENT_REQUEST && step->event->axis == axis &&
	    step->result->answer == TD_CAUSE_QUEUED)
		step->result->answer = cause;
}

/* The pauses are over: power the way if every start condition still holds and the supply bears it, else drop the
 * request. True if it was dropped. */
static bool go(struct td_step *step, uint8_t axis)
{
	const struct td_axis *self = &step->core->axis[axis];
	enum td_cause why_not = refusal(step, axis, self->way);

	if (why_not == TD_CAUSE_NONE && td_watch_leave_over(step->core, step->rules, axis, self->way)) {
		/* It was let go in the very step that the leave limit ran out. */
		td_report_trip(step, axis, TD_CAUSE_LEAVE_LIMIT);
		answer(step, axis, TD_CAUSE_TRIPPED);
		return true;
	}
	if (why_not == TD_CAUSE_NONE && !td_power_supply_grants(step, axis))
		return false;
	if (why_not == TD_CAUSE_NONE) {
		td_report(step, TD_CAUSE_STARTED, axis, self->way, TD_NO_SWITCH);
		td_apply(step, axis, TD_AXIS_GO);
		td_pace_started(step, axis);
		answer(step, axis, TD_CAUSE_STARTED);
	} else {
		td_report_cut(step, axis, why_not);
		answer(step, axis, why_not);
	}
	return why_not != TD_CAUSE_NONE;
}

bool td_ask_due(struct td_step *step, uint8_t axis)
{
	const struct td_axis *self = &step->core->axis[axis];
	const struct td_axis_rules *rules = &step->rules->axis[axis];
	bool dropped = false;

	if (self->state == TD_AXIS_WAIT && step->now_ns >= td_axis_earliest(self, rules, self->way))
		dropped = go(step, axis);
	if (self->state == TD_AXIS_COAST && !td_axis_moving(self, rules, step->now_ns))
		td_apply(step, axis, TD_AXIS_REST_OVER);
	return dropped;
}
