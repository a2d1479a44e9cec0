/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_bars.c, monitor_cable.c and monitor_load.c, as their harnesses prove them. */
#include "tests/proof/ub_monitor.h"

bool td_monitor_barred(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	CLAIM(axis < rules->axes && way < TD_WAYS && ub_monitor_ok(monitor), "it is for a way of an axis");
	return nondet_bool();
}

bool td_monitor_disturbs(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	return td_monitor_barred(monitor, rules, axis, 0);
}

void td_monitor_cable_drive(struct td_monitor *monitor, const struct td_rules *rules)
{
	(void)rules;
	ub_monitor_after(monitor);
}

void td_monitor_cable_feel(struct td_monitor *monitor, const struct td_rules *rules)
{
	td_monitor_cable_drive(monitor, rules);
}

void td_monitor_untwisted(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	(void)event;
	td_monitor_cable_drive(monitor, rules);
}

bool td_monitor_twists(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	return td_monitor_barred(monitor, rules, axis, way);
}

void td_monitor_load_start(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	CLAIM(axis < rules->axes && way < TD_WAYS, "it is for a way of an axis");
	ub_monitor_after(monitor);
}

bool td_monitor_overload(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	return td_monitor_barred(monitor, rules, axis, 0);
}
