/* SPDX-License-Identifier: MIT */
#include "core/travel.h"

enum { PPM = 1000000 };

static bool in_range(td_ns reach_ns)
{
	return reach_ns >= TD_REACH_MIN_NS && reach_ns <= TD_REACH_MAX_NS;
}

/*
 * What running `span_ns` one way is worth in the other: span x reach[other] / reach[way], rounded down,
 * at most a whole reach. Counted in microseconds, of which a reach has at most 6e8: their types tell that no product
 * overflows. A span below the own reach is worth less than the other one; that it is said once more costs nothing and
 * lets the proof see it.
 */
static td_ns worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	td_ns own_ns = rules->way[way].reach_ns;
	td_ns other_ns = rules->way[1 - way].reach_ns;

	if (!in_range(own_ns) || !in_range(other_ns))
		return 0;
	if (span_ns >= own_ns)
		return other_ns;

	uint32_t span_us = (uint32_t)(span_ns / 1000);
	uint32_t other_us = (uint32_t)(other_ns / 1000);
	uint32_t own_us = (uint32_t)(own_ns / 1000) + (own_ns % 1000 != 0);
	uint32_t worth_us = (uint32_t)((uint64_t)span_us * other_us / own_us);

	return td_time_earlier(TD_US(worth_us), other_ns);
}

static td_ns running_ns(const struct td_axis *axis, td_ns now_ns)
{
	return axis->state == TD_AXIS_RUN ? td_time_between(axis->since_ns, now_ns) : 0;
}

td_ns td_travel_spent(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way,
		      td_ns now_ns)
{
	if (way >= TD_WAYS)
		return 0;
	td_ns span_ns = running_ns(axis, now_ns);

	if (span_ns == 0 || axis->way >= TD_WAYS)
		return axis->spent_ns[way];
	if (axis->way == way)
		return td_time_after(axis->spent_ns[way], span_ns);
	return td_time_between(worth(rules, axis->way, span_ns), axis->spent_ns[way]);
}

void td_travel_commit(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	td_ns spent_ns[TD_WAYS];

	for (uint8_t way = 0; way < TD_WAYS; way++)
		spent_ns[way] = td_travel_spent(axis, rules, way, now_ns);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		axis->spent_ns[way] = spent_ns[way];
}

void td_travel_at_end(struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way)
{
	if (way >= TD_WAYS)
		return;
	const struct td_way_rules *there = &rules->way[way];

	axis->spent_ns[way] = there->end_switch == TD_NO_SWITCH ? there->limit_ns : there->reach_ns;
	axis->spent_ns[1 - way] = 0;
	axis->located = true;
}

void td_travel_forget(struct td_axis *axis)
{
	for (uint8_t way = 0; way < TD_WAYS; way++)
		axis->spent_ns[way] = 0;
	axis->located = false;
}

void td_travel_restore(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	if (rules->restored_ns <= 0 || axis->state == TD_AXIS_RUN)
		return;
	if (td_time_between(axis->cut_ns, now_ns) >= rules->restored_ns)
		td_travel_forget(axis);
}

td_ns td_travel_deadline(const struct td_axis *axis, td_ns limit_ns)
{
	if (axis->state != TD_AXIS_RUN || axis->way >= TD_WAYS)
		return TD_NEVER;
	return td_time_after(axis->since_ns, td_time_between(axis->spent_ns[axis->way], limit_ns));
}

int32_t td_travel_position_ppm(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	td_ns reach_ns = rules->way[1].reach_ns;

	if (!axis->located || !in_range(reach_ns))
		return -1;
	td_ns spent_ns = td_travel_spent(axis, rules, 1, now_ns);

	if (spent_ns >= reach_ns)
		return PPM;
	return (int32_t)(spent_ns * PPM / reach_ns); /* below 6e11 x 1e6 */
}
