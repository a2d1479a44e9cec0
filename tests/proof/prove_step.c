/* SPDX-License-Identifier: MIT */
/* The induction: any rules that pass the check, any state of the invariant, any event: one step keeps all. */
#include "tests/proof/claims.h"
#include "tests/proof/invariant.h"
#include "tests/proof/start.h"

/*
 * The kind of the event, the axis and way it names, the state of the axis and its way are given by the compiler, one run for each
 * combination: with them fixed the formula is small enough. What there is besides them is any value.
 */
static struct td_event this_event(void)
{
	struct td_event event = nondet_event();

	event.kind = (enum td_event_kind)PROOF_KIND;
	event.axis = PROOF_AXIS;
	event.way = PROOF_ASKED_WAY;
	ASSUME(event.at_ns <= PROOF_HORIZON_NS);
	return event;
}

int main(void)
{
	const struct td_rules rules = proof_any_rules();
	struct td_core core = nondet_core();
	const struct td_event event = this_event();
	struct td_result result;

	core.axis[0].state = (enum td_axis_state)PROOF_STATE;
	core.axis[0].way = PROOF_WAY;
	ASSUME(proof_bools(&core) && proof_invariant(&core, &rules));

	const struct td_core before = core;

	td_core_step(&core, &rules, &event, &result);
	CLAIM(proof_invariant(&core, &rules), "the invariant is kept");
	CLAIM(proof_bools(&core), "a bool stays one");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		const struct proof_turn turn = {&rules, &before, &event, &core, &result, axis};

		claim_all(&turn);
	}
	return 0;
}
