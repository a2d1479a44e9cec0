/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/travel.c: any answer within what the harness `travel` proves. */
#include "core/travel.h"
#include "tests/proof/ub.h"

static void any_spent(struct td_axis *axis)
{
	bool ok = axis->spent_ns[0] >= 0 && axis->spent_ns[1] >= 0;

	axis->spent_ns[0] = nondet_ns();
	axis->spent_ns[1] = nondet_ns();
	ASSUME(!ok || (axis->spent_ns[0] >= 0 && axis->spent_ns[1] >= 0));
}

td_ns td_travel_spent(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way, td_ns now_ns)
{
	(void)axis;
	(void)rules;
	(void)way;
	(void)now_ns;
	return nondet_ns();
}

void td_travel_commit(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	(void)rules;
	(void)now_ns;
	any_spent(axis);
}

void td_travel_at_end(struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way)
{
	(void)way;
	CLAIM(ub_axis_rules_ok(rules), "limits are times");
	any_spent(axis);
	axis->located = true;
}

void td_travel_forget(struct td_axis *axis)
{
	any_spent(axis);
	axis->located = false;
}

void td_travel_restore(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	(void)rules;
	(void)now_ns;
	any_spent(axis);
	axis->located = nondet_bool();
}

td_ns td_travel_deadline(const struct td_axis *axis, td_ns limit_ns)
{
	(void)axis;
	(void)limit_ns;
	return nondet_ns();
}

int32_t td_travel_position_ppm(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	int32_t position_ppm = nondet_int();

	(void)rules;
	(void)now_ns;
	CLAIM(axis->spent_ns[0] >= 0 && axis->spent_ns[1] >= 0, "times spent are times");
	ASSUME(position_ppm >= -1 && position_ppm <= 1000000);
	return position_ppm;
}
