/* SPDX-License-Identifier: MIT */
/*
 * R12 as the monitor counts it, from nothing but the moments at which an axis was powered and cut.
 *
 * The winding is the equation of duty.h in floating point, without its roundings to the cautious side. Each
 * change between powered and resting brings an error of at most 2^-52 of the temperature rise and 2^-47 of what
 * the rise changed by. Pauses are at least TD_REST_MIN_NS, so the longest time constant of 24 hours holds
 * 3.5e7 changes, and all errors together stay below 1e-8 of the limit. What passes the limit by no more than
 * TD_MONITOR_HEAT_TOLERANCE, ten times that, is not held against the core.
 *
 * The powered time is a counter that never goes back, and its readings at equally distant moments. What the
 * counter said at the beginning of a window, between two readings, is taken as the most it can have said. So
 * the powered time within a window is never counted too long, exactly where the axis was powered or resting
 * in one go around that beginning, and at most half a part (a 60th of the window) too short.
 *
 * An axis that was cut for its heat is known as such where the cut came no earlier than the last whole
 * millisecond before the limit, which is when the core has to cut (duty.h).
 *
 * Time beyond TD_BUDGET_TIME_MAX_NS is not judged, as the core does not count there.
 */
#ifndef TD_CORE_MONITOR_DUTY_H
#define TD_CORE_MONITOR_DUTY_H

#include <stdbool.h>
#include <stdint.h>

#include "core/breach.h"
#include "core/duty.h"
#include "core/time.h"

/* A share of the limit. */
#define TD_MONITOR_HEAT_TOLERANCE 1e-7

/* Parts of a window, and the readings it takes to know both ends of each. */
enum { TD_MONITOR_PARTS = 30, TD_MONITOR_READINGS = 32 };

struct td_monitor_window {
	int64_t newest; /* number of the newest reading: that of the moment number x part */
	td_ns reading_ns[TD_MONITOR_READINGS];
};

struct td_monitor_duty {
	bool on;
	bool hot;       /* was cut for its heat */
	td_ns since_ns; /* powered or resting since */
	td_ns total_ns; /* the counter then */
	double heat;    /* the temperature rise then; 1 is the limit */
	struct td_monitor_window window[TD_BUDGET_SPANS];
};

struct td_monitor_finding {
	enum td_breach breach;
	td_ns measured_ns; /* powered time within the window; for heat: how long it has been powered, or rested */
	td_ns bound_ns; /* what is allowed; for heat 0 */
};

/* Cold, rested, off. */
void td_monitor_duty_init(struct td_monitor_duty *duty, td_ns now_ns);

/* Powered, or not, from now on; no matter if it was so before. */
void td_monitor_duty_power(struct td_monitor_duty *duty, const struct td_duty_rules *rules, bool on,
			   td_ns now_ns);

/* What speaks against being powered now, after td_monitor_duty_power(); `starts`: since now. */
struct td_monitor_finding td_monitor_duty_judge(const struct td_monitor_duty *duty,
						const struct td_duty_rules *rules, td_ns now_ns, bool starts);

/* The temperature rise at `now_ns`, no earlier than the last change; 1 is the limit. */
double td_monitor_duty_heat(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
			    td_ns now_ns);

#endif
