/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_power.c, as its harnesses prove it. */
#include "tests/proof/ub_monitor.h"

void td_monitor_power(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint32_t outputs)
{
	(void)outputs;
	CLAIM(axis < rules->axes, "it is for an axis");
	ub_monitor_after(monitor);
}

td_ns td_monitor_spent(const struct td_monitor *monitor, uint8_t axis, uint8_t way)
{
	td_ns spent_ns = nondet_ns();

	CLAIM(axis < TD_AXES_MAX && way < TD_WAYS && ub_monitor_ok(monitor), "it is for a way of an axis");
	ASSUME(spent_ns >= 0);
	return spent_ns;
}

struct td_monitor_spent td_monitor_spent_range(const struct td_monitor *monitor, const struct td_rules *rules,
					       uint8_t axis, uint8_t way, td_ns at_ns)
{
	(void)rules;
	(void)at_ns;
	return (struct td_monitor_spent){td_monitor_spent(monitor, axis, way), td_monitor_spent(monitor, axis, way)};
}

void td_monitor_recount(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	td_monitor_power(monitor, rules, axis, 0);
}

void td_monitor_restore(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	td_monitor_power(monitor, rules, axis, 0);
}

void td_monitor_written(struct td_monitor_axis *axis, td_ns now_ns)
{
	(void)now_ns;
	ub_monitor_axis_after(axis);
}

bool td_monitor_moves(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	CLAIM(axis < rules->axes && ub_monitor_ok(monitor), "it is for an axis");
	return nondet_bool();
}
