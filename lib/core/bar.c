/* SPDX-License-Identifier: MIT */
#include "core/step.h"

static bool moves(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	return td_axis_moving(&core->axis[axis], &rules->axis[axis], core->now_ns);
}

/* Doubt counts against motion on both sides: a level that may be active is "at the end", one that is not surely active
 * is "off the end", and one that chatters may be anything. What runs bears the bounce of a contact; a start does not. */
static bool violated(const struct td_core *core, const struct td_rules *rules, const struct td_bar *bar,
		     bool runs)
{
	if (bar->axis >= rules->axes)
		return true;
	if (bar->kind == TD_BAR_MOVING)
		return moves(core, rules, bar->axis);
	if (bar->way >= TD_WAYS)
		return true;

	uint8_t end = rules->axis[bar->axis].way[bar->way].end_switch;

	if (td_sense_chatters(core, end))
		return true;
	if (bar->kind == TD_BAR_AT_END)
		return td_sense_maybe_active(core, end);
	return runs ? !td_sense_active(core, end) : !td_sense_surely_active(core, end);
}

bool td_bar_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	if (axis >= TD_AXES_MAX || way >= TD_WAYS)
		return true;
	const struct td_way_rules *self = &rules->axis[axis].way[way];
	bool runs = core->axis[axis].state == TD_AXIS_RUN;

	for (uint8_t i = 0; i < self->bars && i < TD_BARS_MAX; i++)
		if (violated(core, rules, &self->bar[i], runs))
			return true;
	return false;
}

/* One of the conditions of `way` is that `moved` stands still. */
static bool needs_still(const struct td_way_rules *way, uint8_t moved)
{
	for (uint8_t i = 0; i < way->bars && i < TD_BARS_MAX; i++)
		if (way->bar[i].kind == TD_BAR_MOVING && way->bar[i].axis == moved)
			return true;
	return false;
}

/* The way an axis moves or coasts in; TD_NO_WAY = it may be either. */
static uint8_t present_way(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN ? axis->way : axis->last_way;
}

bool td_bar_disturbs(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	for (uint8_t other = 0; other < rules->axes && other < TD_AXES_MAX; other++) {
		if (other == axis || !moves(core, rules, other))
			continue;
		uint8_t now = present_way(&core->axis[other]);

		for (uint8_t way = 0; way < TD_WAYS; way++)
			if ((way == now || now >= TD_WAYS) && needs_still(&rules->axis[other].way[way], axis))
				return true;
	}
	return false;
}
