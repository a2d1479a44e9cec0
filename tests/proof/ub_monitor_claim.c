/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_claim.c: any axis after it that its harnesses let pass. */
#include "tests/proof/ub_monitor.h"

void td_monitor_expire(struct td_monitor_axis *axis, td_ns now_ns)
{
	(void)now_ns;
	ub_monitor_axis_after(axis);
}

void td_monitor_end_all(struct td_monitor_axis *axis, td_ns now_ns)
{
	td_monitor_expire(axis, now_ns);
}

void td_monitor_end_hold(struct td_monitor_axis *axis, uint32_t session, uint32_t number, td_ns now_ns)
{
	(void)session;
	(void)number;
	td_monitor_expire(axis, now_ns);
}

void td_monitor_end_session(struct td_monitor_axis *axis, uint32_t session, td_ns now_ns)
{
	(void)session;
	td_monitor_expire(axis, now_ns);
}

void td_monitor_request(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	(void)rules;
	(void)event;
	ub_monitor_after(monitor);
}

void td_monitor_claim(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	CLAIM(axis < rules->axes, "it is for an axis");
	ub_monitor_after(monitor);
}

void td_monitor_cover(struct td_monitor_axis *axis, uint8_t way, td_ns now_ns)
{
	(void)way;
	td_monitor_expire(axis, now_ns);
}

void td_monitor_uncover(struct td_monitor_axis *axis, td_ns now_ns)
{
	td_monitor_expire(axis, now_ns);
}

bool td_monitor_covered(const struct td_monitor_axis *axis)
{
	(void)axis;
	return nondet_bool();
}

bool td_monitor_claimed(const struct td_monitor_axis *axis)
{
	return td_monitor_covered(axis);
}
