/* SPDX-License-Identifier: MIT */
/* What the monitor needs to be free of undefined behaviour, and what each of its parts keeps (lib/core/monitor_parts.h). */
#ifndef TD_PROOF_UB_MONITOR_H
#define TD_PROOF_UB_MONITOR_H

#include "core/monitor_parts.h"
#include "tests/proof/ub.h"

struct td_monitor nondet_monitor(void);
struct td_monitor_axis nondet_monitor_axis(void);
struct td_monitor_lean nondet_lean(void);
struct td_monitor_twist nondet_monitor_twist(void);
struct td_twist nondet_twist(void);

/* As in monitor_twist.c: turns and counts stay within. The cable began to be counted at a time, and none of the contacts
 * has another place. */
#define TURNS_MAX  INT64_C(4000000000000000000)
#define COUNTS_MAX (INT64_C(1) << 40)

static inline bool ub_within(int64_t value, int64_t max)
{
	return (value >= -max) & (value <= max);
}

static inline bool ub_monitor_twist_ok(const struct td_monitor_twist *twist)
{
	return ub_within(twist->least_fturn, TURNS_MAX) & ub_within(twist->most_fturn, TURNS_MAX) &
	       ub_within(twist->least_counts, COUNTS_MAX) & ub_within(twist->most_counts, COUNTS_MAX) &
	       (twist->driven_fturn >= 0) & (twist->driven_fturn <= TURNS_MAX) & (twist->unsure_fturn >= 0) &
	       (twist->unsure_fturn <= TURNS_MAX) & (twist->silent_fturn >= 0) & (twist->silent_fturn <= TURNS_MAX) &
	       (twist->place <= 4);
}

/* The state of its duty is its own (ub_monitor_duty.h). */
static inline bool ub_monitor_axis_ok(const struct td_monitor_axis *axis)
{
	bool ok = true;

	for (uint8_t way = 0; way < TD_WAYS; way++)
		ok &= (axis->way[way].least_ns >= 0) & (axis->way[way].most_ns >= 0) & (axis->way[way].rose_ns >= 0);
	return ok;
}

static inline bool ub_monitor_ok(const struct td_monitor *monitor)
{
	bool ok = (monitor->now_ns >= 0) & (monitor->resets.count <= TD_VISITOR_RESETS_MAX + 1) &
		  ub_monitor_twist_ok(&monitor->twist);

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		ok &= ub_monitor_axis_ok(&monitor->axis[axis]);
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++) {
		ok &= monitor->contact[sw].changes <= TD_CHATTER_CHANGES_MAX + 1;
		for (int i = 0; i <= TD_CHATTER_CHANGES_MAX; i++)
			ok &= monitor->contact[sw].changed_ns[i] >= 0;
	}
	return ok;
}

extern struct td_monitor ub_monitor;
extern struct td_rules ub_rules;
extern struct td_event ub_event;

/* Any monitor in order, any event, any rules that ub.h lets pass; an axis there is. A request that started a hold is one for
 * a way of an axis. */
uint8_t ub_monitor_any(void);

/* A stand-in for a part: claims that the monitor is in order, and leaves any that is. Time and event stay. */
void ub_monitor_after(struct td_monitor *monitor);

/* The same for an axis of it. */
void ub_monitor_axis_after(struct td_monitor_axis *axis);

/* A lean is one between the stops. */
static inline bool ub_lean_ok(struct td_monitor_lean lean)
{
	return ub_within(lean.least_ppm, 1000000) & ub_within(lean.most_ppm, 1000000);
}

#endif
