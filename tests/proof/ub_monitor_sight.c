/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_sight.c and monitor_chatter.c, as their harness proves them for any switch: any answer. */
#include "tests/proof/ub_monitor.h"

void td_monitor_sight(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	(void)rules;
	(void)event;
	ub_monitor_after(monitor);
}

bool td_monitor_at(const struct td_monitor *monitor, uint8_t sw)
{
	(void)monitor;
	/* Who asks looks at the switch then. */
	return nondet_bool() && sw < TD_SWITCHES_MAX;
}

bool td_monitor_near(const struct td_monitor *monitor, uint8_t sw)
{
	return td_monitor_at(monitor, sw);
}

bool td_monitor_chatters(const struct td_monitor *monitor, uint8_t sw)
{
	return td_monitor_at(monitor, sw);
}

bool td_monitor_restless(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw)
{
	(void)rules;
	return td_monitor_at(monitor, sw);
}

/* Nothing else looks at what it changes. */
void td_monitor_forgive(struct td_monitor *monitor, uint8_t sw)
{
	(void)monitor;
	(void)sw;
}
