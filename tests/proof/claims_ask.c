/* SPDX-License-Identifier: MIT */
#include "tests/proof/claims.h"
#include "tests/proof/look.h"

/* A request of this session and hold for this axis. */
static bool asked_by_holder(const struct proof_turn *turn)
{
	const struct td_event *event = turn->event;

	return event->kind == TD_EVENT_REQUEST && event->axis == turn->axis && event->way == is(turn)->way &&
	       event->session == is(turn)->hold.session && event->hold == is(turn)->hold.number &&
	       heard(turn) > turn->before->stop_ns[turn->axis];
}

static bool lease_given(const struct proof_turn *turn)
{
	return turn->event->lease_ns >= TD_LEASE_MIN_NS && turn->event->lease_ns <= TD_LEASE_MAX_NS &&
	       is(turn)->hold.lease_end_ns - heard(turn) == turn->event->lease_ns;
}

/* The same hold goes on. */
static void claim_renewal(const struct proof_turn *turn)
{
	CLAIM(now(turn) < was(turn)->hold.lease_end_ns, "R7: a lease that is over cannot be renewed");
	CLAIM(is(turn)->way == was(turn)->way, "R7: a hold keeps its way");
	if (is(turn)->hold.lease_end_ns == was(turn)->hold.lease_end_ns &&
	    is(turn)->hold.seq == was(turn)->hold.seq)
		return;
	CLAIM(asked_by_holder(turn), "R7: only its holder renews, and not what a stop overtook");
	CLAIM(turn->event->seq > was(turn)->hold.seq && is(turn)->hold.seq == turn->event->seq,
	      "R7: renewals come in order");
	CLAIM(lease_given(turn), "R7: a renewal lasts one lease from when it was heard");
}

/* A hold that was not there before. */
static void claim_new_hold(const struct proof_turn *turn)
{
	CLAIM(asked_by_holder(turn) && turn->event->seq == 0, "R7, R11: only a new request starts a hold");
	CLAIM(lease_given(turn), "R7: a request lasts one lease from when it was heard");
	CLAIM(turn->event->session != was(turn)->hold.session || turn->event->hold > was(turn)->hold.number,
	      "R11: a hold that ended does not come back");
	CLAIM(!holds(was(turn)) || turn->event->session == was(turn)->hold.session ||
		      now(turn) >= was(turn)->hold.lease_end_ns || is(turn)->cut_ns == now(turn) ||
		      was(turn)->state == TD_AXIS_WAIT,
	      "R7: nobody takes over what another holds");
}

void claim_r7_lease(const struct proof_turn *turn)
{
	if (any_on_after(turn)) {
		CLAIM(is(turn)->hold.lease_end_ns > now(turn), "R7: no power after the lease");
		CLAIM(is(turn)->hold.lease_end_ns - now(turn) <= TD_LEASE_MAX_NS,
		      "R7: no lease beyond the longest");
	}
	if (!holds(is(turn)))
		return;
	if (holds(was(turn)) && same_hold(was(turn), is(turn)))
		claim_renewal(turn);
	else
		claim_new_hold(turn);
}

void claim_r7_stop(const struct proof_turn *turn)
{
	const struct td_event *event = turn->event;
	bool axis_named = event->axis == turn->axis || event->axis >= turn->rules->axes;

	if (event_is(turn, TD_EVENT_STOP) && axis_named) {
		CLAIM(!holds(is(turn)), "R7: a stop ends the hold");
		CLAIM(turn->after->stop_ns[turn->axis] >= heard(turn),
		      "R7: a stop overtakes what was heard before");
	}
	CLAIM(turn->after->stop_ns[turn->axis] >= turn->before->stop_ns[turn->axis],
	      "R7: a stop is not forgotten");
	if (event_is(turn, TD_EVENT_GONE))
		CLAIM(!holds(is(turn)) || is(turn)->hold.session != event->session,
		      "R7: who goes away holds nothing");
	if (event_is(turn, TD_EVENT_RELEASE) && event->axis == turn->axis && holds(is(turn)))
		CLAIM(is(turn)->hold.session != event->session || is(turn)->hold.number != event->hold,
		      "R7: what is let go is over");
}

void claim_r10_latch(const struct proof_turn *turn)
{
	uint8_t stop = turn->rules->stop_switch;
	bool cleared = turn->before->latch != 0 && turn->after->latch == 0;

	CLAIM(turn->after->latch == 0 || turn->result->outputs == 0, "R10: latched is off");
	CLAIM(turn->after->latch == 0 || !holds(is(turn)), "R10: latched, nothing waits");
	CLAIM(!seen_active(turn->after, stop) || (turn->after->latch & TD_LATCH_INPUT) != 0,
	      "R10: an active emergency-stop input latches");
	if (event_is(turn, TD_EVENT_LATCH))
		CLAIM((turn->after->latch & TD_LATCH_ASKED) != 0, "R10: the latched stop is always taken");
	if (event_is(turn, TD_EVENT_LATCH_KEPT))
		CLAIM((turn->after->latch & TD_LATCH_KEPT) != 0, "R10: the latched stop outlives a restart");
	CLAIM(cleared || (turn->before->latch & ~turn->after->latch) == 0,
	      "R10: no part of the latch is lost");
	if (!cleared)
		return;
	CLAIM(event_is(turn, TD_EVENT_RESET) && turn->event->role == TD_ROLE_KEEPER &&
		      turn->event->axis == TD_ALL_AXES,
	      "R10: only a keeper's reset of everything clears the latch");
	CLAIM(!seen_active(turn->after, stop) && !seen_raw(turn->after, stop),
	      "R10: not while the demand is there");
	CLAIM(turn->result->outputs == 0, "R10: a reset moves nothing");
}

void claim_r11_trip(const struct proof_turn *turn)
{
	bool reset = event_is(turn, TD_EVENT_RESET) && turn->event->role == TD_ROLE_KEEPER &&
		     for_this_or_all(turn);

	if (is(turn)->state == TD_AXIS_TRIPPED) {
		CLAIM(!any_on_after(turn), "R11: tripped is off");
		CLAIM(is(turn)->trip != TD_CAUSE_NONE, "R11: a trip has a cause");
		CLAIM(is(turn)->trip != TD_CAUSE_INTERNAL || was(turn)->trip == TD_CAUSE_INTERNAL ||
			      event_is(turn, TD_EVENT_BREACH),
		      "R11: no impossible state is met");
	}
	if (was(turn)->state == TD_AXIS_TRIPPED) {
		CLAIM(is(turn)->state == TD_AXIS_TRIPPED || reset,
		      "R11: only a keeper's reset clears a trip");
		CLAIM(is(turn)->state != TD_AXIS_TRIPPED || is(turn)->trip == was(turn)->trip || reset,
		      "R11: the first cause stays");
		CLAIM(!holds(is(turn)), "R11: a reset starts nothing");
	}
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		bool waited = was(turn)->state == TD_AXIS_WAIT && was(turn)->way == way &&
			      same_hold(was(turn), is(turn));
		bool asked = event_is(turn, TD_EVENT_REQUEST) && turn->event->seq == 0 &&
			     turn->event->axis == turn->axis && turn->event->way == way;

		CLAIM(!rises(turn, way) || waited || asked, "R11: power rises for a request only");
	}
}

void claim_r14_armed(const struct proof_turn *turn)
{
	CLAIM(turn->after->armed || turn->result->outputs == 0, "R14: not armed is off");
	CLAIM(turn->after->armed || !holds(is(turn)), "R14: not armed, nothing waits");
	CLAIM(turn->before->armed || !turn->after->armed || event_is(turn, TD_EVENT_ARM),
	      "R14: only arming arms");
	CLAIM(turn->before->armed || turn->result->outputs == 0, "R14: arming moves nothing");
	CLAIM(!turn->after->armed || turn->after->levels_known, "R14: not armed before levels are known");
	if (event_is(turn, TD_EVENT_DISARM))
		CLAIM(!turn->after->armed, "R14: disarming is always taken");
}

void claim_r15_lines(const struct proof_turn *turn)
{
	if (!event_is(turn, TD_EVENT_LINES_LOST))
		return;
	CLAIM(turn->result->outputs == 0, "R15: lost lines are off");
	CLAIM(is(turn)->state == TD_AXIS_TRIPPED, "R15: lost lines trip");
	CLAIM(!turn->after->armed && !turn->after->levels_known, "R15: lost lines disarm");
}
