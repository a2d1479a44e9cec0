/* SPDX-License-Identifier: MIT */
#include "core/travel.h"
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

void ask_needs(const struct td_step *step)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns,
	      "the machine is as it must be");
	NEEDS(proof_every_axis(step->core, step->rules, proof_safe), "every axis is safe");
}

/* R7: the lease counts from when the request was heard. */
static void lease_given(const struct td_step *step, const struct td_axis *is)
{
	GIVES(step->event->lease_ns >= TD_LEASE_MIN_NS && step->event->lease_ns <= TD_LEASE_MAX_NS,
	      "R7: no lease out of range is taken");
	GIVES(is->hold.lease_end_ns - heard(step) == step->event->lease_ns,
	      "R7: a request lasts one lease from when it was heard");
}

static void renewal_given(const struct td_step *step, const struct td_axis *was, const struct td_axis *is)
{
	GIVES(is->way == was->way && is->state == was->state, "R7: a renewal changes neither way nor state");
	if (is->hold.lease_end_ns == was->hold.lease_end_ns && is->hold.seq == was->hold.seq)
		return;
	GIVES(step->event->session == was->hold.session && step->event->hold == was->hold.number &&
		      step->event->way == was->way,
	      "R7: only its holder renews");
	GIVES(step->event->seq > was->hold.seq && is->hold.seq == step->event->seq, "R7: renewals come in order");
	lease_given(step, is);
}

static void new_hold_given(const struct td_step *step, const struct td_axis *was, const struct td_axis *is)
{
	GIVES(step->event->seq == 0 && is->hold.seq == 0, "R11: only a new request starts a hold");
	GIVES(is->hold.session == step->event->session && is->hold.number == step->event->hold &&
		      is->way == step->event->way,
	      "R7: who asks holds what was asked");
	GIVES(is->hold.session != was->hold.session || is->hold.number > was->hold.number,
	      "R11: a hold that ended does not come back");
	GIVES(!held(was) || was->hold.session == step->event->session, "R7: nobody takes over what another holds");
	GIVES(is->state == TD_AXIS_WAIT, "R3: a new hold waits first");
	lease_given(step, is);
}

/* The axis that the request names. */
static void asked_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];
	const struct td_axis_rules *rules = &step->rules->axis[axis];
	bool restored = rules->restored_ns > 0 && was->state != TD_AXIS_RUN &&
			passed(was->cut_ns, step->now_ns, rules->restored_ns);

	if (heard(step) <= old->stop_ns[axis])
		GIVES(same_axis(was, is), "R7: what a stop overtook does nothing");
	gives_no_power(step, axis, old);
	if (!STANDS_IN && !restored)
		gives_no_stroke(step, axis, old);
	GIVES(is->trip == was->trip && (is->state == TD_AXIS_TRIPPED) == (was->state == TD_AXIS_TRIPPED),
	      "R11: a request neither trips nor clears");
	if (held(is) && held(was) && same_holder(was, is))
		renewal_given(step, was, is);
	else if (held(is))
		new_hold_given(step, was, is);
	GIVES(held(is) || same_holder(was, is) ||
		      (is->hold.session == step->event->session && is->hold.number == step->event->hold),
	      "R11: a refused hold is used up");
}

void ask_gives(const struct td_step *step, const struct td_core *old)
{
	GIVES(proof_bools(step->core), "a bool stays one");
	for (uint8_t axis = 0; axis < step->rules->axes && axis < TD_AXES_MAX; axis++) {
		GIVES_BESIDE(proof_safe(step->core, step->rules, axis), "every axis stays safe");
		if (event_is(step, TD_EVENT_REQUEST) && step->event->axis == axis)
			asked_given(step, axis, old);
		else
			gives_same_axis(step, axis, old);
		GIVES(step->core->stop_ns[axis] == old->stop_ns[axis], "R7: a stop is not forgotten");
	}
	gives_same_switches(step, old);
	gives_same_machine(step, old);
}
