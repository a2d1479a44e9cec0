/* SPDX-License-Identifier: MIT */
/* The exponential in whole numbers against the C library's in long double: its stated bound holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>

#include <cmocka.h>

#include "core/decay.h"
#include "tests/support/dice.h"

enum { TRIES = 300000 };

static long double true_factor(td_ns span_ns, td_ns tau_ns)
{
	return ldexpl(expl(-(long double)span_ns / (long double)tau_ns), 62);
}

static void a_factor_is_within_its_bound(void **state)
{
	struct dice dice = dice_start(12);
	long double worst = 0;

	(void)state;
	for (int i = 0; i < TRIES; i++) {
		td_ns tau_ns = dice_span(&dice, 1, TD_DECAY_TAU_MAX_NS);
		td_ns span_ns = dice_span(&dice, 1, (td_ns)1 << 60);

		if (i % 2 == 0)
			span_ns = 1 + (td_ns)dice_below(&dice, 70 * (uint64_t)tau_ns);
		uint64_t factor = td_decay(span_ns, tau_ns);
		long double off = fabsl((long double)factor - true_factor(span_ns, tau_ns));

		worst = off > worst ? off : worst;
		assert_true(factor <= TD_DECAY_ONE);
		assert_true(off <= TD_DECAY_ERROR);
	}
	printf("# measured: a factor is off by at most %.2Lf of 2^-62 (bound %d)\n", worst, TD_DECAY_ERROR);
}

static void whole_time_constants_are_within_the_bound(void **state)
{
	(void)state;
	for (td_ns whole = 0; whole <= 70; whole++)
		for (td_ns beside_ns = -1; beside_ns <= 1; beside_ns++) {
			td_ns span_ns = whole * TD_S(100) + beside_ns;
			long double expected = span_ns < 0 ? ldexpl(1, 62) : true_factor(span_ns, TD_S(100));

			assert_true(fabsl((long double)td_decay(span_ns, TD_S(100)) - expected) <=
				    TD_DECAY_ERROR);
		}
}

/* The whole time constants are where the constants change that are multiplied; the longest is the worst case. */
static void a_longer_span_never_has_a_larger_factor(void **state)
{
	static const td_ns taus_ns[] = {TD_DECAY_TAU_MAX_NS, TD_S(86400), TD_S(600), TD_S(1), 1000, 7, 1};

	(void)state;
	for (size_t i = 0; i < sizeof(taus_ns) / sizeof(taus_ns[0]); i++)
		for (td_ns whole = 0; whole <= 65; whole++) {
			td_ns at_ns = whole * taus_ns[i];
			uint64_t before = td_decay(at_ns - 1, taus_ns[i]);
			uint64_t there = td_decay(at_ns, taus_ns[i]);

			assert_true(before >= there);
			assert_true(there >= td_decay(at_ns + 1, taus_ns[i]));
		}
}

/* A time constant that is none counts as the nearest that is one. */
static void time_constants_out_of_range_count_as_their_bound(void **state)
{
	(void)state;
	assert_true(td_decay(1, 0) == td_decay(1, 1));
	assert_true(td_decay(1, -5) == td_decay(1, 1));
	assert_true(fabsl((long double)td_decay(1, 1) - true_factor(1, 1)) <= TD_DECAY_ERROR);
	assert_true(td_decay(TD_S(1), TD_DECAY_TAU_MAX_NS + 1) == td_decay(TD_S(1), TD_DECAY_TAU_MAX_NS));
	assert_true(td_decay(TD_S(1), 2 * TD_DECAY_TAU_MAX_NS) == td_decay(TD_S(1), TD_DECAY_TAU_MAX_NS));
	assert_true(td_decay(1, TD_DECAY_TAU_MAX_NS) < TD_DECAY_ONE - TD_DECAY_ERROR);
	assert_true(td_decay(TD_S(1), TD_DECAY_TAU_MAX_NS - TD_S(1)) <
		    td_decay(TD_S(1), TD_DECAY_TAU_MAX_NS));
}

/* A factor of less than e^-44 cannot be told from 0, so nothing is taken off it. */
static void after_64_time_constants_nothing_is_left_but_the_rounding(void **state)
{
	(void)state;
	assert_true(td_decay(42, 1) > 0);
	assert_true(td_decay(64, 1) == 0);
	assert_int_equal(td_decay_toward(TD_DECAY_AMOUNT_MAX, 0, 64, 1), 1);
	assert_true(td_decay_toward(0, TD_DECAY_AMOUNT_MAX, 64, 1) == TD_DECAY_AMOUNT_MAX);
	assert_true(td_decay_toward(0, TD_DECAY_AMOUNT_MAX, 42, 1) == TD_DECAY_AMOUNT_MAX);
}

/* No difference, and a difference of one. */
static void next_to_its_target_a_quantity_stays_between(void **state)
{
	(void)state;
	assert_int_equal(td_decay_toward(7, 7, TD_S(1), TD_S(1)), 7);
	assert_int_equal(td_decay_toward(8, 7, TD_S(1), TD_S(1)), 8);
	assert_int_equal(td_decay_toward(6, 7, TD_S(1), TD_S(1)), 7);
	assert_int_equal(td_decay_toward(8, 7, TD_S(100), TD_S(1)), 8);
	assert_int_equal(td_decay_toward(0, 0, TD_S(1), TD_S(1)), 0);
	assert_true(td_decay_toward(TD_DECAY_AMOUNT_MAX - 1, 0, 0, 1) == TD_DECAY_AMOUNT_MAX - 1);
	assert_true(td_decay_toward(TD_DECAY_AMOUNT_MAX + 1, 0, 0, 1) == TD_DECAY_AMOUNT_MAX);
	assert_true(td_decay_share(TD_DECAY_ONE - 1, TD_DECAY_ONE) == TD_DECAY_ONE - 1);
	assert_true(td_decay_share(TD_DECAY_ONE, TD_DECAY_ONE) == TD_DECAY_ONE - 1);
}

static void no_span_changes_nothing(void **state)
{
	(void)state;
	assert_true(td_decay(0, TD_S(1)) == TD_DECAY_ONE);
	assert_true(td_decay(-1, TD_S(1)) == TD_DECAY_ONE);
	assert_true(td_decay(INT64_MIN, INT64_MIN) == TD_DECAY_ONE);
	assert_int_equal(td_decay_toward(5, 9, 0, TD_S(1)), 5);
	assert_int_equal(td_decay_toward(9, 5, INT64_MIN, TD_S(1)), 9);
}

static void extremes_stay_in_bounds(void **state)
{
	(void)state;
	assert_true(td_decay(INT64_MAX, INT64_MIN) == 0);
	assert_true(td_decay(INT64_MAX, INT64_MAX) == 0);
	assert_true(td_decay(1, INT64_MAX) < TD_DECAY_ONE);
	assert_true(td_decay_share(UINT64_MAX, TD_DECAY_ONE) == TD_DECAY_ONE - 1);
	assert_true(td_decay_share(UINT64_MAX, 0) == 0);
	assert_true(td_decay_toward(UINT64_MAX, 0, 0, 1) == TD_DECAY_AMOUNT_MAX);
	assert_true(td_decay_toward(0, UINT64_MAX, INT64_MAX, 1) == TD_DECAY_AMOUNT_MAX);
	assert_true(td_decay_toward(UINT64_MAX, 0, INT64_MAX, 1) == 1);
}

static void R12_a_quantity_is_never_below_the_equation_and_less_than_two_above(void **state)
{
	struct dice dice = dice_start(34);
	long double worst = 0;

	(void)state;
	for (int i = 0; i < TRIES; i++) {
		uint64_t from = (uint64_t)dice_span(&dice, 1, (int64_t)TD_DECAY_AMOUNT_MAX) - 1;
		uint64_t target = (uint64_t)dice_span(&dice, 1, (int64_t)TD_DECAY_AMOUNT_MAX) - 1;
		td_ns tau_ns = dice_span(&dice, TD_MS(1), TD_DECAY_TAU_MAX_NS);
		td_ns span_ns = dice_span(&dice, 1, 40 * tau_ns);
		uint64_t there = td_decay_toward(from, target, span_ns, tau_ns);
		long double expected =
			(long double)target + ((long double)from - (long double)target) *
						      expl(-(long double)span_ns / (long double)tau_ns);
		long double above = (long double)there - expected;

		worst = above > worst ? above : worst;
		assert_true(above >= -0.001L); /* what a long double of 64 bits leaves open */
		assert_true(above < 2);
		assert_true(there >= (from < target ? from : target));
		assert_true(there <= (from < target ? target : from));
	}
	printf("# measured: a quantity is above the equation by at most %.3Lf of 2 units\n", worst);
}

static void R12_a_longer_span_never_leads_back(void **state)
{
	struct dice dice = dice_start(56);

	(void)state;
	for (int i = 0; i < TRIES / 10; i++) {
		td_ns tau_ns = dice_span(&dice, TD_S(1), TD_DECAY_TAU_MAX_NS);
		td_ns span_ns = dice_span(&dice, 1, 20 * tau_ns);
		td_ns longer_ns = span_ns + dice_span(&dice, tau_ns / 1000000 + 1, tau_ns);
		uint64_t high = UINT64_C(1) << 42;

		assert_true(td_decay_toward(high, 0, longer_ns, tau_ns) <=
			    td_decay_toward(high, 0, span_ns, tau_ns));
		assert_true(td_decay_toward(0, high, longer_ns, tau_ns) >=
			    td_decay_toward(0, high, span_ns, tau_ns));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_factor_is_within_its_bound),
		cmocka_unit_test(whole_time_constants_are_within_the_bound),
		cmocka_unit_test(a_longer_span_never_has_a_larger_factor),
		cmocka_unit_test(time_constants_out_of_range_count_as_their_bound),
		cmocka_unit_test(after_64_time_constants_nothing_is_left_but_the_rounding),
		cmocka_unit_test(next_to_its_target_a_quantity_stays_between),
		cmocka_unit_test(no_span_changes_nothing),
		cmocka_unit_test(extremes_stay_in_bounds),
		cmocka_unit_test(R12_a_quantity_is_never_below_the_equation_and_less_than_two_above),
		cmocka_unit_test(R12_a_longer_span_never_leads_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
