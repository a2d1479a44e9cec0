/* SPDX-License-Identifier: MIT */
/* The parts of the monitor, each with any monitor in order (ub_monitor.h), any event and any rules that ub.h lets pass. */
#include "tests/proof/ub_monitor.h"

static void look(uint8_t axis)
{
	uint8_t way = nondet_byte();

	(void)axis;
	ASSUME(way < TD_WAYS);
#if PROOF_CASE == 0
	td_monitor_sight(&ub_monitor, &ub_rules, &ub_event);
	td_monitor_at(&ub_monitor, nondet_byte());
	td_monitor_near(&ub_monitor, nondet_byte());
	td_monitor_chatters(&ub_monitor, nondet_byte());
	td_monitor_restless(&ub_monitor, &ub_rules, nondet_byte());
	td_monitor_forgive(&ub_monitor, nondet_byte());
#elif PROOF_CASE == 1
	td_monitor_barred(&ub_monitor, &ub_rules, axis, way);
	td_monitor_disturbs(&ub_monitor, &ub_rules, axis);
#elif PROOF_CASE == 2
	td_monitor_load_start(&ub_monitor, &ub_rules, axis, way);
	td_monitor_overload(&ub_monitor, &ub_rules, axis);
#elif PROOF_CASE == 12
	struct td_verdict verdict;

	td_monitor_check(&ub_monitor, &ub_rules, axis, way, &verdict);
	td_monitor_check_supply(&ub_monitor, &ub_rules, axis, way, &verdict);
#elif PROOF_CASE == 13
	td_monitor_twists(&ub_monitor, &ub_rules, axis, way);
	td_monitor_cable_drive(&ub_monitor, &ub_rules);
#elif PROOF_CASE == 17
	td_monitor_cable_feel(&ub_monitor, &ub_rules);
	td_monitor_untwisted(&ub_monitor, &ub_rules, &ub_event);
#endif
}

static void hold(uint8_t axis)
{
	struct td_monitor_axis *self = &ub_monitor.axis[axis];

	(void)self;
#if PROOF_CASE == 3
	td_monitor_expire(self, nondet_ns());
	td_monitor_end_hold(self, nondet_word(), nondet_word(), nondet_ns());
	td_monitor_end_session(self, nondet_word(), nondet_ns());
	td_monitor_cover(self, nondet_byte(), nondet_ns());
	td_monitor_covered(self);
	td_monitor_uncover(self, nondet_ns());
	td_monitor_claimed(self);
	td_monitor_end_all(self, nondet_ns());
#elif PROOF_CASE == 4
	ub_monitor.event = ub_event;
	ub_monitor.asked = false;
	td_monitor_request(&ub_monitor, &ub_rules, &ub_event);
	CLAIM(!ub_monitor.asked || ub_event.way < TD_WAYS, "who asks names a way");
#elif PROOF_CASE == 5
	td_monitor_claim(&ub_monitor, &ub_rules, axis);
#endif
}

static void power(uint8_t axis)
{
	(void)axis;
#if PROOF_CASE == 6
	td_monitor_power(&ub_monitor, &ub_rules, axis, nondet_word());
#elif PROOF_CASE == 7
	uint8_t way = nondet_byte();

	ASSUME(way < TD_WAYS);
	CLAIM(td_monitor_spent(&ub_monitor, axis, way) >= 0, "what is spent is a time");

	struct td_monitor_spent spent = td_monitor_spent_range(&ub_monitor, &ub_rules, axis, way, nondet_ns());

	CLAIM(spent.least_ns >= 0 && spent.most_ns >= 0, "its bounds are times");
	td_monitor_moves(&ub_monitor, &ub_rules, axis);
	td_monitor_restore(&ub_monitor, &ub_rules, axis);
	td_monitor_recount(&ub_monitor, &ub_rules, axis);
	td_monitor_written(&ub_monitor.axis[axis], nondet_ns());
#elif PROOF_CASE == 9
	td_monitor_ends(&ub_monitor, &ub_rules, axis, (enum td_event_kind)nondet_word());
	td_monitor_relocate(&ub_monitor, &ub_rules, axis);
	td_monitor_powered(&ub_monitor, axis);
	td_monitor_trip(&ub_monitor, axis, (enum td_breach)nondet_word(), nondet_byte());
#elif PROOF_CASE == 10
	td_monitor_reset(&ub_monitor, &ub_rules, &ub_event);
#elif PROOF_CASE == 11
	td_monitor_pardoned(&ub_monitor, axis);
	td_monitor_resets_span(&ub_monitor, &ub_rules);
#endif
}

static void whole(void)
{
#if PROOF_CASE == 14
	const struct td_twist kept = nondet_twist();

	td_monitor_keep_twist(&ub_monitor, &kept);
	td_monitor_init(&ub_monitor, &ub_rules, nondet_ns());
#elif PROOF_CASE == 15
	td_monitor_see(&ub_monitor, &ub_rules, &ub_event);
#elif PROOF_CASE == 16
	struct td_verdict verdict;

	td_monitor_judge(&ub_monitor, &ub_rules, nondet_ns(), nondet_word(), &verdict);
#endif
}

int main(void)
{
	uint8_t axis = ub_monitor_any();

	look(axis);
	hold(axis);
	power(axis);
	whole();
	CLAIM(ub_monitor_ok(&ub_monitor), "what the monitor needs, it keeps");
	CLAIM(!ub_monitor.asked || ub_monitor.event.way < TD_WAYS, "who has asked has named a way");
	REACHED();
	return 0;
}
