/* SPDX-License-Identifier: MIT */
/*
 * One time type for the whole product: signed 64-bit nanoseconds of a monotonic clock.
 *
 * The core never asks what time it is; every function that needs it takes it as an argument.
 * Valid points in time are 0 ... TD_NEVER - 1. TD_NEVER means "no deadline". Sums saturate at
 * TD_NEVER, so a huge span can postpone a deadline but can never wrap it into the past.
 */
#ifndef TD_CORE_TIME_H
#define TD_CORE_TIME_H

#include <stdint.h>

typedef int64_t td_ns;

#define TD_NEVER INT64_MAX
#define TD_US(n) ((td_ns)(n)*1000)
#define TD_MS(n) ((td_ns)(n)*1000000)
#define TD_S(n)  ((td_ns)(n)*1000000000)

/* The point `span_ns` after `at_ns`, saturating. Both must be >= 0; a negative one counts as 0.
 * Never fails. */
static inline td_ns td_time_after(td_ns at_ns, td_ns span_ns)
{
	if (at_ns < 0)
		at_ns = 0;
	if (span_ns < 0)
		span_ns = 0;
	return span_ns > TD_NEVER - at_ns ? TD_NEVER : at_ns + span_ns;
}

/* The span from `from_ns` to `to_ns`, at least 0: time that seems to run backwards is no time at
 * all. Never fails. */
static inline td_ns td_time_between(td_ns from_ns, td_ns to_ns)
{
	if (from_ns < 0)
		from_ns = 0;
	return to_ns <= from_ns ? 0 : to_ns - from_ns;
}

/* The earlier of two points. */
static inline td_ns td_time_earlier(td_ns a_ns, td_ns b_ns)
{
	return a_ns < b_ns ? a_ns : b_ns;
}

#endif
