/* SPDX-License-Identifier: MIT */
/* lib/core/monitor_twist.c: any state in order, rules that count, any way, any place of the steering, any time. */
#include "tests/proof/ub_monitor_turns.h"

int main(void)
{
	struct td_monitor_twist twist = nondet_monitor_twist();
	const struct td_twist_rules rules = nondet_twist_rules();
	struct td_monitor_lean lean = nondet_lean();
	uint8_t way = nondet_byte();

	ASSUME(ub_monitor_twist_ok(&twist) && td_twist_rules_ok(&rules) && rules.source != TD_TWIST_UNLIMITED);
	ASSUME(way < TD_WAYS && ub_lean_ok(lean));
#if PROOF_CASE == 0
	const struct td_twist kept = nondet_twist();

	td_monitor_twist_felt(&twist, nondet_bool(), nondet_bool());
	CLAIM(ub_monitor_twist_ok(&twist), "contacts keep the twist in order");
	td_monitor_twist_straight(&twist, nondet_bool());
	CLAIM(ub_monitor_twist_ok(&twist), "what is straight is in order");
	td_monitor_twist_kept(&twist, &kept);
	CLAIM(ub_monitor_twist_ok(&twist), "what was kept is in order");
	td_monitor_twist_init(&twist, nondet_ns());
#elif PROOF_CASE == 1
	td_ns span_ns = nondet_ns();

	int64_t circle = circle_of(rules.rate_ppm_s[way]);

	ASSUME(span_ns >= 0 && (circle == 0 || circle >> PROOF_CELL == 1));
	td_monitor_twist_driven(&twist, &rules, way, lean, span_ns);
#else
	td_monitor_twist_beyond(&twist, &rules, way, lean);
#endif
	CLAIM(ub_monitor_twist_ok(&twist), "the twist stays in order");
	REACHED();
	return 0;
}
