/* SPDX-License-Identifier: MIT */
#include "tests/proof/ub_monitor.h"

struct td_monitor ub_monitor;
struct td_rules ub_rules;
struct td_event ub_event;

static bool asked_ok(const struct td_monitor *monitor)
{
	return !monitor->asked || monitor->event.way < TD_WAYS;
}

uint8_t ub_monitor_any(void)
{
	uint8_t axis = TD_AXES_MAX == 1 ? 0 : nondet_byte();

	ub_rules = nondet_rules();
#if TD_AXES_MAX == 1
	ub_rules.axes = 1; /* said, and not assumed, it ends the loops */
#endif
	ub_monitor = nondet_monitor();
	ub_event = nondet_event();
#ifdef PROOF_NAMED
	ub_event.axis = PROOF_NAMED;
	ub_monitor.event.axis = PROOF_NAMED;
#endif
	ASSUME(ub_rules_ok(&ub_rules) && axis < ub_rules.axes);
	ASSUME(ub_monitor_ok(&ub_monitor) && asked_ok(&ub_monitor));
	return axis;
}

void ub_monitor_after(struct td_monitor *monitor)
{
	td_ns now_ns = monitor->now_ns;
	struct td_event event = monitor->event;

	CLAIM(ub_monitor_ok(monitor) && asked_ok(monitor), "a part finds the monitor in order");
	*monitor = nondet_monitor();
	monitor->now_ns = now_ns;
	monitor->event = event;
	ASSUME(ub_monitor_ok(monitor) && asked_ok(monitor));
}

void ub_monitor_axis_after(struct td_monitor_axis *axis)
{
	CLAIM(ub_monitor_axis_ok(axis), "a part finds the axis in order");
	*axis = nondet_monitor_axis();
	ASSUME(ub_monitor_axis_ok(axis));
}
