/* SPDX-License-Identifier: MIT */
/* The parts of a step, each with any rules, core and event that ub.h lets pass. */
#include "tests/proof/ub_step.h"

/* The stages. */
static void step(uint8_t axis)
{
	(void)axis;
#if PROOF_CASE == 0
	td_sense(&ub.step);
	td_sense_deadline(&ub.core, &ub.rules);
	td_sense_restless(&ub.core, &ub.rules, nondet_byte());
	td_sense_active(&ub.core, nondet_byte());
	td_sense_maybe_active(&ub.core, nondet_byte());
	td_sense_surely_active(&ub.core, nondet_byte());
	td_sense_chatters(&ub.core, nondet_byte());
	td_sense_forgive(&ub.core, nondet_byte());
#elif PROOF_CASE == 1
	td_order(&ub.step);
#elif PROOF_CASE == 2
	td_order_stop_input(&ub.step);
#elif PROOF_CASE == 3
	td_watch(&ub.step, axis);
#elif PROOF_CASE == 4
	td_watch_deadline(&ub.core, &ub.rules, axis);
	td_watch_both_ends(&ub.core, &ub.rules, axis);
	td_watch_leave_over(&ub.core, &ub.rules, axis, nondet_bool() ? 1 : 0);
#elif PROOF_CASE == 5
	td_ask(&ub.step);
#elif PROOF_CASE == 6
	td_ask_due(&ub.step, axis);
#elif PROOF_CASE == 7
	td_cable_drive(&ub.step);
	td_cable_feel(&ub.step);
	td_cable_watch(&ub.step);
#endif
}

/* What they share, and what looks at a core between two steps. */
static void around(uint8_t axis)
{
	(void)axis;
#if PROOF_CASE == 8
	td_cable_blocks(&ub.core, &ub.rules, axis, nondet_byte());
	td_cable_deadline(&ub.core, &ub.rules);
	td_core_view_twist(&ub.core, &ub.rules);
	if (td_cable_untwisted(&ub.step) == TD_CAUSE_UNTWISTED)
		CLAIM(ub.rules.cable.drive < TD_AXES_MAX, "what was untwisted has a drive");
#elif PROOF_CASE == 9
	td_bar_blocks(&ub.core, &ub.rules, nondet_byte(), nondet_byte());
	td_bar_disturbs(&ub.core, &ub.rules, axis);
#elif PROOF_CASE == 10
	td_lock_clear(&ub.core, axis);
	td_lock_kept(&ub.step);
#elif PROOF_CASE == 14
	td_lock_holds(&ub.core, axis, nondet_byte());
	td_lock_completed(&ub.core, axis, nondet_byte());
	td_lock_tripped(&ub.step, axis, nondet_byte());
#elif PROOF_CASE == 11
	ASSUME(ub.core.axis[axis].way < TD_WAYS);
	td_pace_started(&ub.step, axis);
	td_pace_arrived(&ub.step, axis);
#elif PROOF_CASE == 15
	const struct td_trend *trend = td_core_trend(&ub.core, nondet_byte(), nondet_byte());

	if (trend)
		td_core_set_trend(&ub.core, nondet_byte(), nondet_byte(), trend);
#elif PROOF_CASE == 12
	td_reset(&ub.step);
#elif PROOF_CASE == 13
	struct td_axis_view view;

	td_core_active(&ub.core, &ub.rules);
	td_core_locked(&ub.core);
	td_core_chatters(&ub.core, &ub.rules);
	td_core_resets_free_ns(&ub.core, &ub.rules);
	td_core_view(&ub.core, &ub.rules, nondet_byte(), nondet_ns(), &view);
#endif
}

int main(void)
{
	uint8_t axis = ub_step_any();

	step(axis);
	around(axis);
	ub_step_claim(PROOF_CASE == 3 || PROOF_CASE == 6 ? NEWS_OF_AXIS : NEWS_OF_MACHINE);
	REACHED();
	return 0;
}
