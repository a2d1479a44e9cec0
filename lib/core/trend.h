/* SPDX-License-Identifier: MIT */
/*
 * Does a way take longer than it used to? A gear that wears, a rope that slips or a weak battery shows in the
 * travel times long before a travel limit trips.
 *
 * The first TD_TREND_LEARN + 2 complete travels (from end to end, without a stop between) make the learned time,
 * which stays until it is learned anew: one that followed would follow the wear, too. After that a recent
 * time, weighted exponentially (each travel counts a quarter), is compared with it. A single travel that is
 * far off changes nothing: what goes in is the middle one of the last three.
 *
 * A warning is given once, when the recent time has been slower than learned by more than slower_ppm after
 * each of `needed` travels in a row; it ends when the recent time is back within steady_ppm.
 *
 * Nothing here fails, whatever bytes stand in the state; times outside TD_TREND_TRAVEL_... are ignored.
 */
#ifndef TD_CORE_TREND_H
#define TD_CORE_TREND_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

enum { TD_TREND_LEARN = 8, TD_TREND_NEEDED_MAX = 100 };

#define TD_TREND_TRAVEL_MIN_NS  TD_REACH_MIN_NS
#define TD_TREND_TRAVEL_MAX_NS  (10 * TD_REACH_MAX_NS) /* the longest travel limit */
#define TD_TREND_SLOWER_MAX_PPM 10000000
#define TD_NO_TREND             INT32_MIN /* no share: nothing is learned; td_trend_slower_ppm() never gives it */

/* All zero warns of nothing. */
struct td_trend_rules {
	uint32_t slower_ppm; /* steady_ppm ... TD_TREND_SLOWER_MAX_PPM */
	uint32_t steady_ppm; /* 0 ... slower_ppm */
	uint8_t needed;      /* 1 ... TD_TREND_NEEDED_MAX; 0 = no warnings */
};

/* One way of one axis; all zero is a beginning. */
struct td_trend {
	td_ns learned_ns; /* mean of what was learned so far */
	td_ns recent_ns;
	td_ns last_ns[2]; /* the two travels before; 0 = none yet */
	uint8_t learned;  /* travels in learned_ns, up to TD_TREND_LEARN */
	uint8_t slow;     /* travels in a row after which the recent time was too slow */
	uint8_t warned;   /* 0 or 1 */
};

enum td_trend_news {
	TD_TREND_NOTHING = 0,
	TD_TREND_LEARNED,   /* the learned time is there */
	TD_TREND_SLOWER,    /* warn: slower than learned */
	TD_TREND_RECOVERED, /* as fast as learned again */
};

bool td_trend_rules_ok(const struct td_trend_rules *rules);

/* Forgets everything; learns anew. */
void td_trend_init(struct td_trend *trend);

/* False where no sequence of calls could have made this. */
bool td_trend_sane(const struct td_trend *trend);

/* A complete travel took `travel_ns`. A state that cannot be begins anew. */
enum td_trend_news td_trend_travel(struct td_trend *trend, const struct td_trend_rules *rules,
				   td_ns travel_ns);

/* How much slower than learned, in millionths of the learned time (negative: faster); 0 while learning. */
int32_t td_trend_slower_ppm(const struct td_trend *trend);

#endif
