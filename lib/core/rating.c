/* SPDX-License-Identifier: MIT */
#include "core/rating.h"

#include "core/decay.h"

static bool within(td_ns value, td_ns min, td_ns max)
{
	return value >= min && value <= max;
}

static bool tau_ok(td_ns tau_ns)
{
	return within(tau_ns, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS);
}

static bool s3_ok(const struct td_rating_s3 *s3)
{
	return s3->factor_ppm >= 1 && s3->factor_ppm < 1000000 &&
	       within(s3->cycle_ns, 1, TD_RATING_CYCLE_MAX_NS) && tau_ok(s3->tau_on_ns) &&
	       tau_ok(s3->tau_off_ns);
}

/*
 * Millionths of above / below, both at most TD_DECAY_ONE, rounded down; `below` may be off by a factor's error.
 * Cut to 43 bits where there are more, so that the product stays below 2^63; a quotient of at most
 * TD_RATING_MAX_PPM has a divisor of at least 2^32 then, so the cut costs less than 2^-31 of the result.
 */
static uint32_t quotient_ppm(uint64_t above, uint64_t below)
{
	uint64_t divisor = below + TD_DECAY_ERROR;

	while (above >= UINT64_C(1) << 43) {
		above >>= 1;
		divisor = (divisor >> 1) + 1;
	}
	uint64_t ppm = above * 1000000 / divisor;

	return ppm <= TD_RATING_MAX_PPM ? (uint32_t)ppm : 0;
}

uint32_t td_rating_s2_ppm(td_ns on_ns, td_ns tau_on_ns)
{
	if (!within(on_ns, 1, TD_RATING_CYCLE_MAX_NS) || !tau_ok(tau_on_ns))
		return 0;
	return quotient_ppm(TD_DECAY_ONE, TD_DECAY_ONE - td_decay(on_ns, tau_on_ns));
}

/* The cycle is at most 8.64e13 ns: whole millionths first, then the rest, so that nothing overflows. */
td_ns td_rating_on_ns(const struct td_rating_s3 *s3)
{
	if (!s3_ok(s3))
		return 0;
	return s3->cycle_ns / 1000000 * s3->factor_ppm + s3->cycle_ns % 1000000 * s3->factor_ppm / 1000000;
}

td_ns td_rating_off_ns(const struct td_rating_s3 *s3)
{
	return s3_ok(s3) ? s3->cycle_ns - td_rating_on_ns(s3) : 0;
}

/*
 * With a = e^(-on / tau_on) and b = e^(-off / tau_off), the warmest moment of endless cycles is
 * theta_inf (1 - a) / (1 - a b); it is 1 for theta_inf = (1 - a b) / (1 - a).
 */
uint32_t td_rating_s3_ppm(const struct td_rating_s3 *s3)
{
	if (!s3_ok(s3))
		return 0;
	uint64_t a = td_decay(td_rating_on_ns(s3), s3->tau_on_ns);
	uint64_t b = td_decay(td_rating_off_ns(s3), s3->tau_off_ns);
	/* Rounded up, which makes the result smaller. At least a nanosecond of at most a day is rest, which takes
	 * b below one by more than 2^15, so there is something left. */
	uint64_t both = td_decay_share(b, a) + 1 + UINT64_C(2) * TD_DECAY_ERROR;

	return quotient_ppm(TD_DECAY_ONE - both, TD_DECAY_ONE - a);
}

bool td_rating_is_intermittent(const struct td_rating_s3 *s3)
{
	return s3_ok(s3) && td_rating_on_ns(s3) < 3 * s3->tau_on_ns &&
	       td_rating_off_ns(s3) < 3 * s3->tau_off_ns;
}
