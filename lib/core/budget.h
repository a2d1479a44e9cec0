/* SPDX-License-Identifier: MIT */
/*
 * Powered time within the last minute, ten minutes and day (R12): windows that slide, not ones that begin
 * anew on the clock, so that two allowances can never adjoin.
 *
 * Each window is remembered in TD_BUDGET_BUCKETS equal parts; of each part, how long the axis was powered
 * in it and when it was powered last. What that leaves open is answered to the cautious side: the powered
 * time counts as having been as late in its part as it can have been. So the time in any window never
 * exceeds the allowance; a single run in a part is counted exactly; and at most the powered time of one part
 * (a 30th of the window) is given back late. Times are rounded up to whole microseconds, once for each run
 * and part.
 *
 * A run is added when it ends; what is running is an argument. Time is whatever clock the caller uses, from
 * -TD_BUDGET_TIME_MAX_NS to TD_BUDGET_TIME_MAX_NS (negative: before the start of the clock), never going back.
 * Total: any bytes may stand in a window; impossible ones are told by td_budget_sane() and give no time.
 */
#ifndef TD_CORE_BUDGET_H
#define TD_CORE_BUDGET_H

#include <stdbool.h>
#include <stdint.h>

#include "core/time.h"

/* The windows: X(IDENT, "name", span in seconds). */
#define TD_BUDGET_TABLE(X)                                                                                   \
	X(MINUTE, "minute", 60)                                                                              \
	X(TEN_MINUTES, "ten-minutes", 600)                                                                   \
	X(DAY, "day", 86400)

#define TD_BUDGET_IDENT(ident, name, span_s) TD_BUDGET_##ident,
enum td_budget_span { TD_BUDGET_TABLE(TD_BUDGET_IDENT) TD_BUDGET_SPANS };
#undef TD_BUDGET_IDENT

/* One part more than a window has, for the one it has half left. */
enum { TD_BUDGET_PARTS = 30, TD_BUDGET_BUCKETS = TD_BUDGET_PARTS + 1 };

#define TD_BUDGET_TIME_MAX_NS ((td_ns)1 << 61)

struct td_budget_bucket {
	uint32_t on_us;   /* powered time in this part */
	uint32_t last_us; /* end of the last powered time, from the beginning of the part; 0 = none */
};

struct td_budget {
	td_ns begin_ns; /* of the newest part */
	uint8_t newest; /* its index */
	struct td_budget_bucket bucket[TD_BUDGET_BUCKETS];
};

/* Length of a window; 0 for one that does not exist. */
td_ns td_budget_span_ns(enum td_budget_span span);

/* Nothing was powered. */
void td_budget_init(struct td_budget *budget, td_ns now_ns);

/* Powered all the time until now. */
void td_budget_fill(struct td_budget *budget, enum td_budget_span span, td_ns now_ns);

/* False where no sequence of calls could have made this. */
bool td_budget_sane(const struct td_budget *budget, enum td_budget_span span);

/* A run from `from_ns` to `to_ns` has ended. */
void td_budget_add(struct td_budget *budget, enum td_budget_span span, td_ns from_ns, td_ns to_ns);

/* At most this much of what was added lies after `from_ns`. */
td_ns td_budget_spent_ns(const struct td_budget *budget, enum td_budget_span span, td_ns from_ns);

/* Powered since `since_ns`: when the allowance is used up; TD_NEVER where that cannot happen. */
td_ns td_budget_cut_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns,
		       td_ns since_ns);

/* Resting: the earliest time, no earlier than now, from which a run of `least_ns` fits; TD_NEVER where none
 * ever does. Once true it stays true while the axis rests. */
td_ns td_budget_start_ns(const struct td_budget *budget, enum td_budget_span span, td_ns allowed_ns,
			 td_ns least_ns, td_ns now_ns);

#endif
