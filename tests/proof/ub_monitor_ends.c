/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_ends.c, as its harnesses prove it. */
#include "tests/proof/ub_monitor.h"

void td_monitor_ends(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, enum td_event_kind kind)
{
	(void)kind;
	CLAIM(axis < rules->axes, "it is for an axis");
	ub_monitor_after(monitor);
}

void td_monitor_relocate(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	td_monitor_ends(monitor, rules, axis, TD_EVENT_TIME);
}

uint8_t td_monitor_powered(const struct td_monitor *monitor, uint8_t axis)
{
	(void)monitor;
	CLAIM(axis < TD_AXES_MAX, "it is for an axis");
	return nondet_byte();
}

void td_monitor_trip(struct td_monitor *monitor, uint8_t axis, enum td_breach as, uint8_t on)
{
	(void)as;
	(void)on;
	CLAIM(axis < TD_AXES_MAX, "it is for an axis");
	ub_monitor_after(monitor);
}
