/* SPDX-License-Identifier: MIT */
/* The time axis: which unit, which steps, how a moment is written. */
#ifndef TD_SIM_DRAW_TIME_H
#define TD_SIM_DRAW_TIME_H

#include <stdbool.h>
#include <stddef.h>

#include "core/time.h"

enum { TD_DRAW_TIME_MAX = 32 };

struct td_draw_axis {
	td_ns step_ns; /* between numbered ticks: 1, 2 or 5 times a power of ten of the unit */
	int minor;     /* small ticks in one step */
	td_ns unit_ns;
	const char *unit_short; /* "s" */
	const char *unit_long;  /* "seconds" */
	int decimals;           /* of tick labels */
	td_ns list_ns;          /* unit of moments in a list: seconds where the axis has minutes or hours */
	const char *list_short;
	int list_decimals; /* down to a thousandth of that unit */
};

/* For a window of `span_ns` (> 0) with at most `ticks` (>= 1) numbered ticks, one more at its end. */
struct td_draw_axis td_draw_axis(td_ns span_ns, int ticks);

/* `at_ns` (>= 0) in units of `unit_ns` (> 0) with so many decimals (0 ... 9), rounded to the nearest. */
void td_draw_time(td_ns at_ns, td_ns unit_ns, int decimals, char out[TD_DRAW_TIME_MAX]);

/* `at_ns` as a list shows it, its unit behind it. */
void td_draw_moment(const struct td_draw_axis *axis, td_ns at_ns, char out[TD_DRAW_TIME_MAX]);

/* The time of day in UTC, "02:14:00.900", rounded to the nearest as the moments are; `wall_ns` (>= 0) is nanoseconds since 1970. */
void td_draw_clock(int64_t wall_ns, char out[TD_DRAW_TIME_MAX]);

/* Reads "2s", "1.25s", "300ms", "15us", "40ns" or "3min": digits, perhaps a point and digits, a unit.
 * False where it is anything else, finer than a nanosecond or longer than about 292 years. */
bool td_draw_parse_time(const char *text, td_ns *at_ns);

#endif
