/* SPDX-License-Identifier: MIT */
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

void sense_needs(const struct td_step *step)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core), "the machine is as the invariant says");
	NEEDS(step->now_ns == step->core->now_ns && step->rose == 0, "a step begins");
	NEEDS(proof_levels_past(step->core), "levels were read in the past");
}

/* The contact as the electrician sees it: closed, the line is away from its pull. */
static bool contact_active(const struct td_switch_rules *rules, bool high)
{
	bool closed = rules->pull == TD_PULL_UP ? !high : high;

	return rules->contact == TD_CONTACT_NO ? closed : !closed;
}

static void level_given(const struct td_step *step, const struct td_core *old, uint8_t sw)
{
	const struct td_switch *was = &old->sw[sw];
	const struct td_switch *is = &step->core->sw[sw];
	bool high = (step->event->levels >> sw & 1) != 0;

	if (!event_is(step, TD_EVENT_LEVELS)) {
		GIVES(is->raw == was->raw && is->since_ns == was->since_ns, "R9: a level changes by being read only");
		return;
	}
	GIVES(is->raw == contact_active(&step->rules->sw[sw], high), "R9: an open normally-closed contact is active");
	if (!old->levels_known)
		GIVES(is->active == is->raw && is->since_ns == step->now_ns, "R9: the first level is taken as it is");
	else
		GIVES(is->since_ns == (is->raw == was->raw ? was->since_ns : step->now_ns),
		      "R2: a level counts from when it was first read");
}

static void filter_given(const struct td_step *step, const struct td_core *old, uint8_t sw)
{
	const struct td_switch_rules *rules = &step->rules->sw[sw];
	const struct td_switch *was = &old->sw[sw];
	const struct td_switch *is = &step->core->sw[sw];

	GIVES(!is->active || was->active || rose(step, sw), "R8: a switch that becomes active is seen to");
	if (!old->levels_known)
		return;
	GIVES(!is->raw || is->active || !passed(is->since_ns, step->now_ns, rules->confirm_ns),
	      "R2: active for the confirm time counts");
	GIVES(is->raw || !is->active || !passed(is->since_ns, step->now_ns, rules->clear_ns),
	      "R2: clear for the clear time counts");
	GIVES(!(was->raw && passed(was->since_ns, step->now_ns, rules->confirm_ns)) || is->active,
	      "R2: what was active for the confirm time counts, even where it ends in this step");
	GIVES(!(was->active && !is->active) || (!was->raw && passed(was->since_ns, step->now_ns, rules->clear_ns)),
	      "R2: no sooner does an end become clear");
}

void sense_gives(const struct td_step *step, const struct td_core *old)
{
	GIVES(proof_bools(step->core), "a bool stays one");
	for (uint8_t sw = 0; sw < step->rules->switches && sw < TD_SWITCHES_MAX; sw++) {
		GIVES(step->core->chatter[sw].marked || !old->chatter[sw].marked, "R8: a contact is not forgiven");
		level_given(step, old, sw);
		filter_given(step, old, sw);
	}
	GIVES(proof_filtered(step->core, step->rules), "a filter that is due has decided");
	GIVES(step->core->levels_known == (old->levels_known || event_is(step, TD_EVENT_LEVELS)),
	      "R14: levels are known once they were read");
	GIVES(step->core->now_ns == old->now_ns && step->core->armed == old->armed && step->core->latch == old->latch,
	      "reading levels changes nothing else");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		gives_same_axis(step, axis, old);
}
