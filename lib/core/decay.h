/* SPDX-License-Identifier: MIT */
/*
 * e^(-span / tau) in whole numbers, and what a first-order quantity comes to with it. The same on every
 * machine, with a bound that is stated and proven below, and rounded to the cautious side.
 */
#ifndef TD_CORE_DECAY_H
#define TD_CORE_DECAY_H

#include <stdint.h>

#include "core/time.h"

/* A factor of one: factors are 0 ... TD_DECAY_ONE, in 2^-62. */
#define TD_DECAY_ONE (UINT64_C(1) << 62)

/* How far a factor can be from the true value, in 2^-62. */
enum { TD_DECAY_ERROR = 32 };

/* Time constants beyond 2^47 ns (39 hours) count as that, those below 1 ns as 1 ns. */
#define TD_DECAY_TAU_MAX_NS ((td_ns)1 << 47)

/* Quantities beyond this count as this. */
#define TD_DECAY_AMOUNT_MAX (UINT64_C(1) << 50)

/* e^(-span / tau), within TD_DECAY_ERROR of the true value and never larger for a longer span; exactly
 * TD_DECAY_ONE for a span of 0 or less. Never fails.
 *
 * Where the bound comes from, in units of 2^-62: the fraction of span / tau is cut off below 2^-64, which
 * makes 0.25; each of the 21 terms of the nested series is off by less than 2, and what is inside is
 * multiplied by fraction / k, so together less than 2 (1 + 1 + 1/2 + 1/6 + ...) = 2 e; leaving out the
 * terms from the 22nd on makes less than 0.01; each of the at most six whole powers adds less than 2 (its
 * constant and the product are cut off). 0.25 + 5.44 + 0.01 + 12 < 32.
 *
 * Why a longer span never gives more: between two whole time constants a nanosecond changes the series by at
 * least 2^13 units, far more than the cuts; at the 63 whole ones the longest time constant is the worst case,
 * and a test looks at each. */
uint64_t td_decay(td_ns span_ns, td_ns tau_ns);

/* amount x factor / 2^62, rounded down. An amount of 2^62 or more counts as just below. Never fails. */
uint64_t td_decay_share(uint64_t amount, uint64_t factor);

/* Where a quantity stands that was at `from` a span ago and goes to `target` with the time constant tau:
 * target + (from - target) e^(-span / tau). Never below the true value, less than 2 above it, never
 * outside from ... target, never farther from target after a longer span, and exactly `from` after a span of 0
 * or less. Never fails. */
uint64_t td_decay_toward(uint64_t from, uint64_t target, td_ns span_ns, td_ns tau_ns);

#endif
