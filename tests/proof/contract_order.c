/* SPDX-License-Identifier: MIT */
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"
#include "tests/proof/proof.h"

void order_needs(const struct td_step *step)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns,
	      "the machine is as it must be");
	NEEDS(proof_every_axis(step->core, step->rules, proof_kept), "every axis is as it must be");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		NEEDS(!step->core->axis[axis].unwritten || event_is(step, TD_EVENT_WRITTEN),
		      "after a cut comes word of its writing");
}

static bool named(const struct td_step *step, uint8_t axis)
{
	return step->event->axis == axis;
}

/* A keeper's reset of this axis or of everything. */
static bool reset_of(const struct td_step *step, uint8_t axis)
{
	return event_is(step, TD_EVENT_RESET) && step->event->role == TD_ROLE_KEEPER &&
	       (named(step, axis) || step->event->axis == TD_ALL_AXES);
}

/* A visitor's reset of this axis, for a trip that visitors may reset. */
static bool visitor_reset_of(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	return event_is(step, TD_EVENT_RESET) && named(step, axis) && step->rules->visitor_resets > 0 &&
	       __CPROVER_uninterpreted_visitor_resets((int)old->axis[axis].trip);
}

static void stop_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	if (event_is(step, TD_EVENT_STOP) && (named(step, axis) || step->event->axis >= step->rules->axes)) {
		GIVES(!held(is), "R7: a stop ends the hold");
		GIVES(step->core->stop_ns[axis] >= heard(step), "R7: a stop overtakes what was heard before");
	}
	GIVES(step->core->stop_ns[axis] >= old->stop_ns[axis], "R7: a stop is not forgotten");
	if ((event_is(step, TD_EVENT_GONE) || event_is(step, TD_EVENT_TURN_OVER)) && was->hold.session == step->event->session)
		GIVES(!held(is), "R7: who goes away, or whose turn ends, holds nothing");
	if (event_is(step, TD_EVENT_RELEASE) && named(step, axis) && was->hold.session == step->event->session &&
	    was->hold.number == step->event->hold)
		GIVES(!held(is), "R7: what is let go is over");
	GIVES(!held(is) || (held(was) && was->state == is->state && was->way == is->way), "R11: an order gives no hold");
	GIVES(same_holder(was, is) && was->hold.seq == is->hold.seq &&
		      (!held(is) || was->hold.lease_end_ns == is->hold.lease_end_ns),
	      "R7: an order makes no lease longer");
}

static void trip_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	if (was->state == TD_AXIS_TRIPPED) {
		GIVES(is->state == TD_AXIS_TRIPPED || reset_of(step, axis) || visitor_reset_of(step, axis, old),
		      "R11: only a keeper's reset clears a trip, or a visitor's where that is open to them");
		GIVES(is->state != TD_AXIS_TRIPPED || is->trip == was->trip, "R11: the first cause stays");
		GIVES(!held(is), "R11: a reset starts nothing");
	}
	if (event_is(step, TD_EVENT_LINES_LOST))
		GIVES(is->state == TD_AXIS_TRIPPED, "R15: lost lines trip");
	if (event_is(step, TD_EVENT_BREACH))
		GIVES(is->state == TD_AXIS_TRIPPED, "R11: a breach trips");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(!locked(old, axis, way) || locked(step->core, axis, way) || reset_of(step, axis),
		      "R11: only a keeper's reset takes a lock away");
	GIVES(event_is(step, TD_EVENT_BREACH) || is->trip != TD_CAUSE_INTERNAL || was->trip == TD_CAUSE_INTERNAL, "R11: no impossible combination is met");
}

/* R3: word of the writing moves the record to when the lines were low. */
static void written_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	GIVES(is->state == was->state && (!held(is) || is->way == was->way), "R3: a writing changes no state");
	GIVES(!is->unwritten && is->last_way == was->last_way && is->since_ns == was->since_ns, "R3: it is written once");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(is->way_cut_ns[way] ==
			      (was->unwritten && was->last_way == way ? step->now_ns : was->way_cut_ns[way]),
		      "R3: pauses count from the writing");
}

static void axis_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	bool elsewhere = step->event->axis < step->rules->axes && !named(step, axis);

	GIVES(proof_kept(step->core, step->rules, axis) && proof_fresh(step->core, axis), "the axis is as it must be");
	if (event_is(step, TD_EVENT_WRITTEN))
		written_given(step, axis, old);
	else
		gives_no_power(step, axis, old);
	stop_given(step, axis, old);
	trip_given(step, axis, old);
	if (!STANDS_IN && !event_is(step, TD_EVENT_RESET) && !event_is(step, TD_EVENT_LINES_LOST) &&
	    !event_is(step, TD_EVENT_BREACH))
		gives_no_stroke(step, axis, old);
	if (elsewhere && (event_is(step, TD_EVENT_STOP) || event_is(step, TD_EVENT_RESET) ||
			  event_is(step, TD_EVENT_RELEASE)))
		GIVES(same_axis(&step->core->axis[axis], &old->axis[axis]), "an order for one axis changes no other");
	if (event_is(step, TD_EVENT_TIME) || event_is(step, TD_EVENT_LEVELS) || event_is(step, TD_EVENT_REQUEST))
		GIVES(same_axis(&step->core->axis[axis], &old->axis[axis]), "nothing ordered, nothing done");
}

static void latch_given(const struct td_step *step, const struct td_core *old)
{
	bool cleared = old->latch != 0 && (old->latch & ~step->core->latch) != 0;

	if (event_is(step, TD_EVENT_LATCH))
		GIVES((step->core->latch & TD_LATCH_ASKED) != 0, "R10: the latched stop is always taken");
	if (event_is(step, TD_EVENT_LATCH_KEPT))
		GIVES((step->core->latch & TD_LATCH_KEPT) != 0, "R10: the latched stop outlives a restart");
	GIVES(proof_input_latched(step->core, step->rules), "R10: an active emergency-stop input latches");
	if (!cleared)
		return;
	GIVES(event_is(step, TD_EVENT_RESET) && step->event->role == TD_ROLE_KEEPER && step->event->axis == TD_ALL_AXES,
	      "R10: only a keeper's reset of everything clears the latch");
	GIVES(!maybe_active(step->core, step->rules->stop_switch), "R10: not while the demand is there");
	GIVES(step->core->latch == 0, "R10: it is cleared whole");
}

void order_gives(const struct td_step *step, const struct td_core *old)
{
	GIVES(proof_bools(step->core) && proof_machine(step->core), "the machine is as it must be");
	for (uint8_t axis = 0; axis < step->rules->axes && axis < TD_AXES_MAX; axis++)
		axis_given(step, axis, old);
	latch_given(step, old);
	GIVES(old->armed || !step->core->armed || event_is(step, TD_EVENT_ARM), "R14: only arming arms");
	if (event_is(step, TD_EVENT_DISARM))
		GIVES(!step->core->armed, "R14: disarming is always taken");
	if (event_is(step, TD_EVENT_LINES_LOST))
		GIVES(!step->core->armed && !step->core->levels_known, "R15: lost lines disarm");
	else
		GIVES(step->core->levels_known == old->levels_known, "levels stay known");
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		GIVES(step->core->chatter[sw].marked == old->chatter[sw].marked || event_is(step, TD_EVENT_RESET),
		      "R8: a contact is forgiven by a reset only");
	GIVES(step->core->now_ns == old->now_ns, "time stays within a step");
	gives_same_switches(step, old);
}
