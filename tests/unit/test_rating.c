/* SPDX-License-Identifier: MIT */
/* R12: ratings at the ends of their ranges, and that a rating is the true one rounded down by two millionths at most. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>

#include <cmocka.h>

#include "core/decay.h"
#include "core/rating.h"
#include "tests/support/dice.h"

static const struct td_rating_s3 good = {250000, TD_S(600), TD_S(1800), TD_S(1200)};

/* Rounded down, by two millionths at most; and what a long double leaves open. */
static void check_rating(uint32_t ppm, long double expected)
{
	long double low = expected * 1e6L - (long double)ppm;

	assert_true(low > -1e-3L);
	assert_true(low < 2.001L);
}

static long double short_time(td_ns on_ns, td_ns tau_ns)
{
	return -1 / expm1l(-(long double)on_ns / (long double)tau_ns);
}

/* --- ranges ---------------------------------------------------------------------------------------- */

static void R12_intermittent_ratings_are_held_to_their_bounds(void **state)
{
	static const struct td_rating_s3 bad[] = {
		{0, TD_S(600), TD_S(1800), TD_S(1200)},
		{1000000, TD_S(600), TD_S(1800), TD_S(1200)},
		{250000, 0, TD_S(1800), TD_S(1200)},
		{250000, TD_RATING_CYCLE_MAX_NS + 1, TD_S(1800), TD_S(1200)},
		{250000, TD_S(600), TD_RATING_TAU_MIN_NS - 1, TD_S(1200)},
		{250000, TD_S(600), TD_RATING_TAU_MAX_NS + 1, TD_S(1200)},
		{250000, TD_S(600), TD_S(1800), TD_RATING_TAU_MIN_NS - 1},
		{250000, TD_S(600), TD_S(1800), TD_RATING_TAU_MAX_NS + 1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		assert_int_equal(td_rating_s3_ppm(&bad[i]), 0);
		assert_true(td_rating_on_ns(&bad[i]) == 0);
		assert_true(td_rating_off_ns(&bad[i]) == 0);
		assert_false(td_rating_is_intermittent(&bad[i]));
	}
}

static void R12_intermittent_ratings_at_their_bounds_are_good(void **state)
{
	static const struct td_rating_s3 rows[] = {
		{1, TD_S(600), TD_S(1800), TD_S(1200)},
		{999999, TD_S(600), TD_S(1800), TD_S(1200)},
		{250000, TD_RATING_CYCLE_MAX_NS, TD_S(50000), TD_S(50000)},
		{250000, TD_S(2), TD_RATING_TAU_MIN_NS, TD_S(1200)},
		{250000, TD_S(600), TD_RATING_TAU_MAX_NS, TD_S(1200)},
		{250000, TD_S(1), TD_S(1800), TD_RATING_TAU_MIN_NS},
		{250000, TD_S(600), TD_S(1800), TD_RATING_TAU_MAX_NS},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		assert_true(td_rating_is_intermittent(&rows[i]));
		assert_true(td_rating_on_ns(&rows[i]) + td_rating_off_ns(&rows[i]) == rows[i].cycle_ns);
		assert_true(td_rating_on_ns(&rows[i]) ==
			    (td_ns)((long double)rows[i].cycle_ns * rows[i].factor_ppm / 1e6L));
	}
	/* a cycle of one nanosecond: there is no powered part left, so it is no rating */
	assert_int_equal(td_rating_s3_ppm(&(struct td_rating_s3){1, 1, TD_S(1), TD_S(1)}), 0);
	assert_true(td_rating_off_ns(&(struct td_rating_s3){1, 1, TD_S(1), TD_S(1)}) == 1);
}

static void R12_a_cycle_settles_from_three_time_constants_on(void **state)
{
	static const struct {
		td_ns tau_on_ns, tau_off_ns;
		bool intermittent;
	} rows[] = {{TD_S(50), TD_S(151), false},
		    {TD_S(50) + 1, TD_S(151), true},
		    {TD_S(51), TD_S(150), false},
		    {TD_S(51), TD_S(150) + 1, true}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		const struct td_rating_s3 s3 = {250000, TD_S(600), rows[i].tau_on_ns, rows[i].tau_off_ns};

		assert_int_equal(td_rating_is_intermittent(&s3), rows[i].intermittent);
	}
}

static void R12_short_time_ratings_are_held_to_their_bounds(void **state)
{
	(void)state;
	assert_int_equal(td_rating_s2_ppm(0, TD_S(60)), 0);
	assert_int_equal(td_rating_s2_ppm(-1, TD_S(60)), 0);
	assert_int_equal(td_rating_s2_ppm(TD_RATING_CYCLE_MAX_NS + 1, TD_S(60)), 0);
	assert_int_equal(td_rating_s2_ppm(TD_S(60), TD_RATING_TAU_MIN_NS - 1), 0);
	assert_int_equal(td_rating_s2_ppm(TD_S(60), TD_RATING_TAU_MAX_NS + 1), 0);
	check_rating(td_rating_s2_ppm(TD_S(1), TD_RATING_TAU_MIN_NS), short_time(1, 1));
	check_rating(td_rating_s2_ppm(TD_RATING_CYCLE_MAX_NS, TD_RATING_TAU_MAX_NS), short_time(1, 1));
	check_rating(td_rating_s2_ppm(TD_RATING_CYCLE_MAX_NS, TD_RATING_TAU_MIN_NS), 1);
}

/* 1 / (1 - e^-x) is 1000 for x = ln(1000 / 999): the shortest time that is still a rating. */
static void R12_nothing_is_rated_beyond_a_thousand_times(void **state)
{
	td_ns shortest_ns = (td_ns)ceill(logl(1000.0L / 999.0L) * 3600e9L);

	(void)state;
	assert_int_equal(td_rating_s2_ppm(shortest_ns - 10000, TD_S(3600)), 0);
	check_rating(td_rating_s2_ppm(shortest_ns + 10, TD_S(3600)),
		     short_time(shortest_ns + 10, TD_S(3600)));
}

/* With a day a nanosecond is a hundredth of a millionth: the shortest time that is rated has the greatest rating. */
static void R12_the_greatest_rating_is_one(void **state)
{
	td_ns on_ns = (td_ns)(logl(1000.0L / 999.0L) * 86400e9L) - 300;

	(void)state;
	assert_int_equal(td_rating_s2_ppm(on_ns, TD_S(86400)), 0);
	while (td_rating_s2_ppm(on_ns, TD_S(86400)) == 0)
		on_ns++;
	assert_int_equal(td_rating_s2_ppm(on_ns, TD_S(86400)), TD_RATING_MAX_PPM);
}

/* --- values ---------------------------------------------------------------------------------------- */

static void R12_short_time_ratings_are_the_true_ones_rounded_down(void **state)
{
	struct dice dice = dice_start(161);

	(void)state;
	for (int i = 0; i < 20000; i++) {
		td_ns tau_ns = dice_span(&dice, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS);
		td_ns on_ns = dice_span(&dice, tau_ns / 900, TD_RATING_CYCLE_MAX_NS);

		check_rating(td_rating_s2_ppm(on_ns, tau_ns), short_time(on_ns, tau_ns));
	}
}

/* (1 - a b) / (1 - a) with a = e^(-on / tau_on), b = e^(-off / tau_off). */
static void R12_intermittent_ratings_are_the_true_ones_rounded_down(void **state)
{
	struct dice dice = dice_start(162);
	int rated = 0;

	(void)state;
	for (int i = 0; i < 20000; i++) {
		const struct td_rating_s3 s3 = {
			.factor_ppm = 1 + (uint32_t)dice_below(&dice, 999999),
			.cycle_ns = dice_span(&dice, TD_S(1), TD_RATING_CYCLE_MAX_NS),
			.tau_on_ns = dice_span(&dice, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS),
			.tau_off_ns = dice_span(&dice, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS),
		};
		long double on = (long double)td_rating_on_ns(&s3) / (long double)s3.tau_on_ns;
		long double off = (long double)td_rating_off_ns(&s3) / (long double)s3.tau_off_ns;
		long double expected = expm1l(-on - off) / expm1l(-on);
		uint32_t ppm = td_rating_s3_ppm(&s3);

		if (expected * 1e6L > TD_RATING_MAX_PPM + 3) {
			assert_int_equal(ppm, 0);
		} else if (expected * 1e6L < TD_RATING_MAX_PPM && td_rating_on_ns(&s3) >= TD_MS(10)) {
			check_rating(ppm, expected);
			rated++;
		}
	}
	assert_true(rated > 10000);
}

/* What the two factors and their product can be off by is taken off in full: it shows where a cycle is short. */
static void R12_what_a_factor_can_be_off_by_is_taken_off(void **state)
{
	const struct td_rating_s3 s3 = {1000, 1000, TD_S(86400), TD_S(86400)};
	uint64_t a = td_decay(1, TD_S(86400));
	uint64_t b = td_decay(999, TD_S(86400));
	uint64_t above = TD_DECAY_ONE - td_decay_share(b, a) - 1 - UINT64_C(2) * TD_DECAY_ERROR;

	(void)state;
	assert_int_equal(td_rating_s3_ppm(&s3), above * 1000000 / (TD_DECAY_ONE - a + TD_DECAY_ERROR));
	assert_true(td_rating_s3_ppm(&s3) < TD_RATING_MAX_PPM);
	assert_true(td_rating_s3_ppm(&s3) > TD_RATING_MAX_PPM / 1000 * 999);
}

static void R12_a_rated_cycle_is_split_to_the_nanosecond(void **state)
{
	struct dice dice = dice_start(163);

	(void)state;
	for (int i = 0; i < 20000; i++) {
		struct td_rating_s3 s3 = good;

		s3.factor_ppm = 1 + (uint32_t)dice_below(&dice, 999999);
		s3.cycle_ns = dice_span(&dice, 1, TD_RATING_CYCLE_MAX_NS);
		/* 8.64e13 x 1e6 needs 67 bits, a long double has 64: the quotient of whole and rest is exact */
		td_ns expected_ns = s3.cycle_ns / 1000000 * s3.factor_ppm;

		expected_ns += (td_ns)((uint64_t)(s3.cycle_ns % 1000000) * s3.factor_ppm / 1000000);
		assert_true(td_rating_on_ns(&s3) == expected_ns);
		assert_true(td_rating_off_ns(&s3) == s3.cycle_ns - expected_ns);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_intermittent_ratings_are_held_to_their_bounds),
		cmocka_unit_test(R12_intermittent_ratings_at_their_bounds_are_good),
		cmocka_unit_test(R12_a_cycle_settles_from_three_time_constants_on),
		cmocka_unit_test(R12_short_time_ratings_are_held_to_their_bounds),
		cmocka_unit_test(R12_nothing_is_rated_beyond_a_thousand_times),
		cmocka_unit_test(R12_short_time_ratings_are_the_true_ones_rounded_down),
		cmocka_unit_test(R12_intermittent_ratings_are_the_true_ones_rounded_down),
		cmocka_unit_test(R12_the_greatest_rating_is_one),
		cmocka_unit_test(R12_what_a_factor_can_be_off_by_is_taken_off),
		cmocka_unit_test(R12_a_rated_cycle_is_split_to_the_nanosecond),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
