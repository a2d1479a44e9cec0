/* SPDX-License-Identifier: MIT */
#include "core/monitor_parts.h"

/* A start needs the end that it asks for without doubt. */
static bool violated(const struct td_monitor *monitor, const struct td_rules *rules, const struct td_bar *bar,
		     bool rises)
{
	if (bar->axis >= td_monitor_axes(rules))
		return true;
	if (bar->kind == TD_BAR_MOVING)
		return td_monitor_moves(monitor, rules, bar->axis);
	if (bar->way >= TD_WAYS)
		return true;

	uint8_t end_switch = rules->axis[bar->axis].way[bar->way].end_switch;

	if (td_monitor_chatters(monitor, end_switch))
		return true;
	if (bar->kind == TD_BAR_AT_END)
		return td_monitor_near(monitor, end_switch);
	return !td_monitor_at(monitor, end_switch) || (rises && !monitor->sw[end_switch].raw);
}

bool td_monitor_barred(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		       uint8_t way)
{
	const struct td_way_rules *self = &rules->axis[axis].way[way];

	for (uint8_t i = 0; i < self->bars && i < TD_BARS_MAX; i++)
		if (violated(monitor, rules, &self->bar[i], monitor->axis[axis].way[way].rises))
			return true;
	return false;
}

/* This way may only move while `still` does not. */
static bool needs(const struct td_way_rules *way, uint8_t still)
{
	for (uint8_t i = 0; i < way->bars && i < TD_BARS_MAX; i++)
		if (way->bar[i].kind == TD_BAR_MOVING && way->bar[i].axis == still)
			return true;
	return false;
}

/* Powered this way, or rolling on that way as far as anybody can tell. */
static bool goes(const struct td_monitor_axis *axis, uint8_t way)
{
	if (axis->way[0].on || axis->way[1].on)
		return axis->way[way].on;
	return axis->last_way == way || axis->last_way >= TD_WAYS;
}

bool td_monitor_disturbs(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	for (uint8_t other = 0; other < td_monitor_axes(rules); other++) {
		if (other == axis || !td_monitor_moves(monitor, rules, other))
			continue;
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if (goes(&monitor->axis[other], way) && needs(&rules->axis[other].way[way], axis))
				return true;
	}
	return false;
}
