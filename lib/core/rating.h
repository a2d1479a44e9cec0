/* SPDX-License-Identifier: MIT */
/*
 * From what a motor is rated for to the numbers of its winding model (R12).
 *
 * The temperature rise is counted in shares of the rise the rating allows: 1 is the limit. While powered it
 * goes to a final value theta_inf, while resting to 0. The final value is what a rating says in other words:
 *   S1  continuous: theta_inf = 1
 *   S2  short-time: from cold, the limit is reached after the operating time and not before
 *   S3  intermittent: in endless equal cycles the warmest moment of a cycle is the limit
 * (duty types and the words: IEC 60034-1, clause 4.2, number from memory; usual S2 times 10, 30, 60, 90 min,
 * S3 factors 15, 25, 40, 60 % of a cycle of 10 min: Siemens catalogue D 83.1, 2016, page 1/25.)
 *
 * All results are in millionths and rounded down by at most two of them (S3: where a cycle is powered for ten
 * milliseconds or more), so that exactly the rated duty is never refused; 0 where the numbers make no rating or
 * the result would be above TD_RATING_MAX_PPM.
 */
#ifndef TD_CORE_RATING_H
#define TD_CORE_RATING_H

#include <stdbool.h>
#include <stdint.h>

#include "core/time.h"

enum { TD_RATING_LIMIT_PPM = 1000000, TD_RATING_MAX_PPM = 1000000000 };

#define TD_RATING_TAU_MIN_NS   TD_S(1)
#define TD_RATING_TAU_MAX_NS   TD_S(86400)
#define TD_RATING_CYCLE_NS     TD_S(600) /* S3, unless stated otherwise */
#define TD_RATING_CYCLE_MAX_NS TD_S(86400)

/* Intermittent duty: powered for factor_ppm / 1000000 of each cycle. */
struct td_rating_s3 {
	uint32_t factor_ppm; /* 1 ... 999999 */
	td_ns cycle_ns;      /* 1 ... TD_RATING_CYCLE_MAX_NS */
	td_ns tau_on_ns;     /* TD_RATING_TAU_MIN_NS ... TD_RATING_TAU_MAX_NS, powered */
	td_ns tau_off_ns;    /* the same range, resting; longer where the motor's fan stands still */
};

/* Powered and resting part of one cycle. */
td_ns td_rating_on_ns(const struct td_rating_s3 *s3);
td_ns td_rating_off_ns(const struct td_rating_s3 *s3);

/* theta_inf of a motor for `on_ns` from cold (1 ns ... TD_RATING_CYCLE_MAX_NS). */
uint32_t td_rating_s2_ppm(td_ns on_ns, td_ns tau_on_ns);

/* theta_inf of a motor for intermittent duty. */
uint32_t td_rating_s3_ppm(const struct td_rating_s3 *s3);

/* True while both parts of the cycle are shorter than three of their time constants: else the winding
 * settles in every cycle, and the duty is no intermittent one (Siemens CR 1-2015, page 7/6). The numbers
 * above hold either way. */
bool td_rating_is_intermittent(const struct td_rating_s3 *s3);

#endif
