/* SPDX-License-Identifier: MIT */
#include "tests/proof/course.h"

#include "tests/proof/proof.h"

td_ns course_time(td_ns now_ns, const struct td_event *event)
{
	return event->at_ns < now_ns || event->at_ns == TD_NEVER ? now_ns : event->at_ns;
}

/* --- the state by itself ---------------------------------------------------------------------------- */

static bool axis_at(const struct td_step *step, struct course at, uint8_t axis)
{
	const struct td_core *core = step->core;
	const struct td_rules *rules = step->rules;

	if (at.point < COURSE_ORDERED)
		return proof_kept(core, rules, axis) &&
		       (!core->axis[axis].unwritten || event_is(step, TD_EVENT_WRITTEN));
	if (at.point == COURSE_ORDERED && axis >= at.passed)
		return proof_kept(core, rules, axis) && proof_fresh(core, axis);
	if (at.point == COURSE_DUE && axis < at.passed)
		return proof_settled(core, rules, axis);
	return proof_safe(core, rules, axis);
}

bool course_around(const struct td_step *step, struct course at)
{
	bool holds = proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns &&
		     proof_levels_past(step->core);

	if (at.point >= COURSE_SENSED)
		holds = holds && proof_filtered(step->core, step->rules);
	if (at.point >= COURSE_ORDERED)
		holds = holds && proof_input_latched(step->core, step->rules);
	return holds;
}

bool course_state(const struct td_step *step, struct course at)
{
	for (uint8_t axis = 0; axis < step->rules->axes && axis < TD_AXES_MAX; axis++)
		if (!axis_at(step, at, axis))
			return false;
	return course_around(step, at);
}

/* --- an axis since the step began -------------------------------------------------------------------- */

struct since {
	const struct td_step *step;
	struct course at;
	uint8_t index;
	const struct td_axis *was;
	const struct td_axis *is;
	td_ns stopped_ns; /* when the step began */
};

static bool ordered(const struct since *since, enum td_event_kind kind)
{
	return since->at.point >= COURSE_ORDERED && event_is(since->step, kind);
}

static bool names(const struct since *since)
{
	return since->step->event->axis == since->index;
}

/* R3: nothing is forgotten of what was cut. R1: from one way to the other is never one step. */
static bool record_holds(const struct since *since)
{
	const struct td_axis *was = since->was;
	const struct td_axis *is = since->is;

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (is->way_cut_ns[way] < was->way_cut_ns[way])
			return false;
		if (powered(was, way) &&
		    !(powered(is, way) ? is->since_ns == was->since_ns
				       : is->state != TD_AXIS_RUN && is->way_cut_ns[way] == since->step->now_ns))
			return false;
	}
	return true;
}

static bool lease_is_asked(const struct since *since)
{
	const struct td_event *event = since->step->event;

	return event->lease_ns >= TD_LEASE_MIN_NS && event->lease_ns <= TD_LEASE_MAX_NS &&
	       since->is->hold.lease_end_ns - heard(since->step) == event->lease_ns;
}

/* R7: this event may give this axis a hold or a lease: not what a stop overtook. */
static bool request_counts(const struct since *since)
{
	return since->at.point >= COURSE_ASKED && event_is(since->step, TD_EVENT_REQUEST) && names(since) &&
	       heard(since->step) > since->stopped_ns && lease_is_asked(since);
}

static bool started(const struct since *since)
{
	return since->at.point == COURSE_DUE && since->is->state == TD_AXIS_RUN;
}

static bool goes_on(const struct since *since)
{
	const struct td_axis *was = since->was;
	const struct td_axis *is = since->is;
	const struct td_event *event = since->step->event;

	if (!held(was) || was->way != is->way || !same_holder(was, is) ||
	    !(was->state == is->state || (was->state == TD_AXIS_WAIT && started(since))))
		return false;
	if (was->hold.seq == is->hold.seq && was->hold.lease_end_ns == is->hold.lease_end_ns)
		return true;
	return request_counts(since) && event->session == was->hold.session && event->hold == was->hold.number &&
	       event->way == was->way && event->seq > was->hold.seq && is->hold.seq == event->seq;
}

static bool is_new(const struct since *since)
{
	const struct td_axis *was = since->was;
	const struct td_axis *is = since->is;
	const struct td_event *event = since->step->event;

	return request_counts(since) && event->seq == 0 && is->hold.seq == 0 && event->way == is->way &&
	       event->session == is->hold.session && event->hold == is->hold.number &&
	       (is->hold.session != was->hold.session || is->hold.number > was->hold.number) &&
	       (is->state == TD_AXIS_WAIT || started(since));
}

/* R3: what was not powered when the step began had every pause. */
static bool start_holds(const struct since *since)
{
	const struct td_axis_rules *rules = &since->step->rules->axis[since->index];
	const struct td_axis *is = since->is;

	if (is->state != TD_AXIS_RUN || since->was->state == TD_AXIS_RUN)
		return true;
	return since->at.point == COURSE_DUE && is->since_ns == since->step->now_ns && rested(is, rules, is->way, is->since_ns) &&
	       !maybe_active(since->step->core, rules->way[is->way].end_switch);
}

static bool hold_holds(const struct since *since)
{
	const struct td_event *event = since->step->event;
	const struct td_axis *was = since->was;

	if (since->at.point < COURSE_ASKED && !(same_holder(was, since->is) && was->hold.seq == since->is->hold.seq))
		return false;
	if (!held(since->is))
		return true;
	if (!goes_on(since) && !is_new(since))
		return false;
	if (ordered(since, TD_EVENT_STOP) && (names(since) || event->axis >= since->step->rules->axes))
		return false;
	if ((ordered(since, TD_EVENT_GONE) || ordered(since, TD_EVENT_TURN_OVER)) && was->hold.session == event->session)
		return false;
	return !(ordered(since, TD_EVENT_RELEASE) && names(since) && was->hold.session == event->session &&
		 was->hold.number == event->hold);
}

/* R11: a reset by the keeper, or by a visitor where that is open to them. */
static bool reset_may(const struct since *since)
{
	const struct td_event *event = since->step->event;

	if (!ordered(since, TD_EVENT_RESET))
		return false;
	if (event->role == TD_ROLE_KEEPER)
		return names(since) || event->axis == TD_ALL_AXES;
	return names(since) && since->step->rules->visitor_resets > 0 &&
	       __CPROVER_uninterpreted_visitor_resets((int)since->was->trip);
}

static bool trip_holds(const struct since *since)
{
	const struct td_axis *was = since->was;
	const struct td_axis *is = since->is;

	if (was->state == TD_AXIS_TRIPPED &&
	    (held(is) || !((is->state == TD_AXIS_TRIPPED && is->trip == was->trip) || reset_may(since))))
		return false;
	return is->state == TD_AXIS_TRIPPED ||
	       !(ordered(since, TD_EVENT_LINES_LOST) || ordered(since, TD_EVENT_BREACH));
}

static bool locks_hold(const struct since *since, const struct td_core *from)
{
	bool keeper = ordered(since, TD_EVENT_RESET) && since->step->event->role == TD_ROLE_KEEPER &&
		      (names(since) || since->step->event->axis == TD_ALL_AXES);

	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (locked(from, since->index, way) && !locked(since->step->core, since->index, way) && !keeper)
			return false;
	return true;
}

bool course_axis(const struct td_step *step, const struct td_core *from, struct course at, uint8_t axis)
{
	const struct since since = {step, at, axis, &from->axis[axis], &step->core->axis[axis], from->stop_ns[axis]};

	return record_holds(&since) && start_holds(&since) && hold_holds(&since) && trip_holds(&since) &&
	       locks_hold(&since, from) && step->core->stop_ns[axis] >= from->stop_ns[axis];
}

/* --- the machine since the step began ---------------------------------------------------------------- */

static bool latch_holds(const struct td_step *step, const struct td_core *from, struct course at)
{
	if ((from->latch & ~step->core->latch) == 0)
		return true;
	return at.point >= COURSE_ORDERED && event_is(step, TD_EVENT_RESET) &&
	       step->event->role == TD_ROLE_KEEPER && step->event->axis == TD_ALL_AXES && step->core->latch == 0 &&
	       !maybe_active(step->core, step->rules->stop_switch);
}

bool course_machine(const struct td_step *step, const struct td_core *from, struct course at)
{
	const struct td_core *core = step->core;

	if (core->now_ns != course_time(from->now_ns, step->event) || !latch_holds(step, from, at))
		return false;
	if (core->armed && !from->armed && !(at.point >= COURSE_ORDERED && event_is(step, TD_EVENT_ARM)))
		return false;
	if (at.point < COURSE_ORDERED)
		return true;
	if (core->armed && (event_is(step, TD_EVENT_DISARM) || event_is(step, TD_EVENT_LINES_LOST)))
		return false;
	return (!event_is(step, TD_EVENT_LATCH) || (core->latch & TD_LATCH_ASKED) != 0) &&
	       (!event_is(step, TD_EVENT_LATCH_KEPT) || (core->latch & TD_LATCH_KEPT) != 0);
}
