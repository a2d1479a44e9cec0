/* SPDX-License-Identifier: MIT */
/*
 * R12: how long one axis may be powered. A first-order model of its winding, and the powered time within the
 * last minute, ten minutes and day.
 *
 * The winding: while powered the temperature rise goes to theta_inf (what a rating comes to, see rating.h)
 * with one time constant, while resting to 0 with another; it may not pass the limit, which is 1. Once it
 * was cut for that it has to cool down to `restart_ppm` before the next start. The model is evaluated from
 * the last change between powered and resting, never step by step, so one look after an hour and a million
 * looks on the way come to the same number exactly; each change rounds up, by less than two parts in 2^40 of
 * the limit. So what the model says is never cooler than the equation, and after n changes warmer by less
 * than n x 2^-39 of the limit.
 *
 * What the caller does: td_duty_may_start() before it powers the axis, td_duty_power() when it does and when
 * it cuts, a cut no later than td_duty_cut(). Time is a clock that never goes back, in the range of
 * budget.h; a time before the last change counts as that change.
 *
 * Nothing here fails, whatever bytes stand in the state or the rules: what cannot be gives no time.
 */
#ifndef TD_CORE_DUTY_H
#define TD_CORE_DUTY_H

#include <stdbool.h>
#include <stdint.h>

#include "core/budget.h"
#include "core/rating.h"
#include "core/time.h"

/* The limit of the temperature rise in the unit the model counts in. */
#define TD_DUTY_LIMIT (UINT64_C(1) << 40)

#define TD_DUTY_LEAST_MAX_NS TD_S(60)

/* All zero allows nothing. */
struct td_duty_rules {
	uint32_t inf_ppm;     /* theta_inf: 1 ... TD_RATING_MAX_PPM; 1000000 = continuous duty, no limit */
	td_ns tau_on_ns;      /* TD_RATING_TAU_MIN_NS ... TD_RATING_TAU_MAX_NS */
	td_ns tau_off_ns;     /* the same range */
	uint32_t restart_ppm; /* 1 ... 1000000: after a cut for the limit */
	td_ns least_ns;       /* 0 ... TD_DUTY_LEAST_MAX_NS: no start for a shorter run than this */
	/* Allowed powered time: least_ns ... the whole window, which is no limit. */
	td_ns allowed_ns[TD_BUDGET_SPANS];
};

struct td_duty {
	uint8_t powered;   /* 0 or 1 */
	uint8_t hot;       /* 0 or 1: was cut for the limit and has not yet cooled down */
	td_ns since_ns;    /* powered or resting since */
	uint64_t theta;    /* then; TD_DUTY_LIMIT is the limit */
	td_ns heat_cut_ns; /* powered: when the limit will be reached; TD_NEVER = not */
	struct td_budget budget[TD_BUDGET_SPANS];
};

/* What stands in the way, or will. The budgets follow each other as in budget.h. */
enum td_duty_limit {
	TD_DUTY_FREE = 0, /* nothing */
	TD_DUTY_HEAT,
	TD_DUTY_MINUTE,
	TD_DUTY_TEN_MINUTES,
	TD_DUTY_DAY,
};

struct td_duty_verdict {
	enum td_duty_limit limit;
	td_ns at_ns;
};

/* True where every number is in its range and a cold, rested axis may start. */
bool td_duty_rules_ok(const struct td_duty_rules *rules);

/* Cold, rested, off. */
void td_duty_init(struct td_duty *duty, td_ns now_ns);

/* Nothing is known: at the limit, hot, powered all the time until now, off. */
void td_duty_init_unknown(struct td_duty *duty, td_ns now_ns);

/* False where no sequence of calls could have made this. */
bool td_duty_sane(const struct td_duty *duty);

/* The axis is powered, or not, from now on. The same as before changes nothing but that an axis that has
 * cooled down is no longer hot. A state that cannot be becomes an unknown one. */
void td_duty_power(struct td_duty *duty, const struct td_duty_rules *rules, bool powered, td_ns now_ns);

/* Moves the state of a resting axis to another clock: `by_ns` is added to every time. */
void td_duty_shift(struct td_duty *duty, td_ns by_ns);

/* May a resting axis start? FREE: yes, and at_ns is now. Else: what refuses it longest, and the earliest time
 * of a start, if it rests until then, late by at most a millisecond; TD_NEVER = never on its own. Beyond the
 * range of budget.h, where time does not count, nothing may start. */
struct td_duty_verdict td_duty_may_start(const struct td_duty *duty, const struct td_duty_rules *rules,
					 td_ns now_ns);

/* When a powered axis has to be cut, and for what; the heat limit early by at most a millisecond. FREE and
 * TD_NEVER: nothing will ever cut it. A resting axis: FREE and TD_NEVER. */
struct td_duty_verdict td_duty_cut(const struct td_duty *duty, const struct td_duty_rules *rules);

/* Temperature rise now, TD_DUTY_LIMIT = the limit. */
uint64_t td_duty_theta(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns);

/* The same in millionths of the limit, rounded up. */
uint32_t td_duty_theta_ppm(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns);

/* Powered time within the window that ends now, what is running included; rounded to the cautious side. */
td_ns td_duty_spent_ns(const struct td_duty *duty, enum td_budget_span span, td_ns now_ns);

#endif
