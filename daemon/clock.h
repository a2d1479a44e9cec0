/* SPDX-License-Identifier: MIT */
/* The one clock motion is timed by. */
#ifndef TD_DAEMON_CLOCK_H
#define TD_DAEMON_CLOCK_H

#include <time.h>

#include "core/time.h"

/* CLOCK_MONOTONIC now. Never fails on Linux. */
static inline td_ns td_clock_now(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

/* The way ppoll() and pselect() want a span; below 0 counts as 0. */
static inline struct timespec td_clock_span(td_ns span_ns)
{
	if (span_ns < 0)
		span_ns = 0;
	return (struct timespec){.tv_sec = (time_t)(span_ns / TD_S(1)), .tv_nsec = (long)(span_ns % TD_S(1))};
}

#endif
