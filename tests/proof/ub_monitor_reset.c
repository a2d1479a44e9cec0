/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_reset.c, as its harnesses prove it. */
#include "tests/proof/ub_monitor.h"

void td_monitor_reset(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	(void)rules;
	(void)event;
	ub_monitor_after(monitor);
}

void td_monitor_pardoned(struct td_monitor *monitor, uint8_t axis)
{
	CLAIM(axis < TD_AXES_MAX, "it is for an axis");
	ub_monitor_after(monitor);
}

td_ns td_monitor_resets_span(const struct td_monitor *monitor, const struct td_rules *rules)
{
	(void)rules;
	CLAIM(ub_monitor_ok(monitor), "the monitor is in order");
	return nondet_ns();
}
