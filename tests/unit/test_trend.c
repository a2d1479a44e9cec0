/* SPDX-License-Identifier: MIT */
/* Travel times that grow: learned, compared, warned of once. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/trend.h"
#include "tests/support/dice.h"

#define TRAVEL_MS INT64_C(2000)

static const struct td_trend_rules rules = {.slower_ppm = 200000, .steady_ppm = 100000, .needed = 3};

static enum td_trend_news travel(struct td_trend *trend, int64_t travel_ms)
{
	return td_trend_travel(trend, &rules, TD_MS(travel_ms));
}

/* A way that has learned TRAVEL_MS. */
static struct td_trend learned(void)
{
	struct td_trend trend;
	int travels = 0;

	td_trend_init(&trend);
	do
		travels++;
	while (travel(&trend, TRAVEL_MS) != TD_TREND_LEARNED);
	assert_int_equal(travels, TD_TREND_LEARN + 2);
	assert_true(trend.learned_ns == TD_MS(TRAVEL_MS));
	return trend;
}

static void nothing_is_said_while_learning(void **state)
{
	struct td_trend trend;

	(void)state;
	td_trend_init(&trend);
	for (int i = 0; i < TD_TREND_LEARN + 1; i++) {
		assert_int_equal(travel(&trend, TRAVEL_MS + INT64_C(500) * i), TD_TREND_NOTHING);
		assert_int_equal(td_trend_slower_ppm(&trend), 0);
	}
}

static void steady_travels_say_nothing(void **state)
{
	struct dice dice = dice_start(141);
	struct td_trend trend = learned();

	(void)state;
	for (int i = 0; i < 10000; i++)
		assert_int_equal(travel(&trend, TRAVEL_MS - 100 + (int64_t)dice_below(&dice, 201)),
				 TD_TREND_NOTHING);
}

static void a_slower_way_is_warned_of_once_and_recovers_once(void **state)
{
	struct td_trend trend = learned();
	int slower = 0;
	int recovered = 0;

	(void)state;
	for (int i = 0; i < 100; i++)
		slower += travel(&trend, TRAVEL_MS * 13 / 10) == TD_TREND_SLOWER;
	assert_int_equal(slower, 1);
	assert_true(abs(td_trend_slower_ppm(&trend) - 300000) < 100);
	for (int i = 0; i < 100; i++)
		assert_int_equal(travel(&trend, TRAVEL_MS * 115 / 100),
				 TD_TREND_NOTHING); /* between the two */
	for (int i = 0; i < 100; i++)
		recovered += travel(&trend, TRAVEL_MS) == TD_TREND_RECOVERED;
	assert_int_equal(recovered, 1);
	for (int i = 0; i < 100; i++)
		slower += travel(&trend, TRAVEL_MS * 13 / 10) == TD_TREND_SLOWER;
	assert_int_equal(slower, 2);
}

/* 30 % slower: the recent time is more than 20 % above after four travels that count, one of them waits for
 * the middle of three; the third in a row warns. */
static void the_warning_comes_after_so_many_travels(void **state)
{
	struct td_trend trend = learned();
	int travels = 0;

	(void)state;
	do
		travels++;
	while (travel(&trend, TRAVEL_MS * 13 / 10) != TD_TREND_SLOWER);
	printf("# measured: a way that is 30 %% slower is warned of after %d travels\n", travels);
	assert_int_equal(travels, 1 + 4 + 2);
}

static void wear_that_creeps_is_found(void **state)
{
	struct td_trend trend = learned();
	int64_t travel_us = TRAVEL_MS * 1000;
	int64_t found_us = 0;

	(void)state;
	for (int i = 0; i < 5000 && found_us == 0; i++) {
		travel_us += travel_us / 5000; /* a fiftieth of a per cent each time */
		if (td_trend_travel(&trend, &rules, TD_US(travel_us)) == TD_TREND_SLOWER)
			found_us = travel_us;
	}
	assert_true(found_us > TRAVEL_MS * 1200 && found_us < TRAVEL_MS * 1210);
}

static void a_single_travel_far_off_changes_nothing(void **state)
{
	static const int64_t odd_ms[] = {10, TRAVEL_MS / 2, TRAVEL_MS * 3, TRAVEL_MS * 100};

	(void)state;
	for (size_t i = 0; i < sizeof(odd_ms) / sizeof(odd_ms[0]); i++) {
		struct td_trend trend = learned();

		for (int round = 0; round < 50; round++) {
			assert_int_equal(travel(&trend, odd_ms[i]), TD_TREND_NOTHING);
			assert_int_equal(travel(&trend, TRAVEL_MS), TD_TREND_NOTHING);
			assert_int_equal(travel(&trend, TRAVEL_MS), TD_TREND_NOTHING);
		}
		assert_int_equal(td_trend_slower_ppm(&trend), 0);
	}
}

static void a_faster_way_is_no_warning(void **state)
{
	struct td_trend trend = learned();

	(void)state;
	for (int i = 0; i < 100; i++)
		assert_int_equal(travel(&trend, TRAVEL_MS / 2), TD_TREND_NOTHING);
	assert_true(abs(td_trend_slower_ppm(&trend) + 500000) < 100);
}

static void times_out_of_range_are_ignored(void **state)
{
	static const td_ns bad_ns[] = {
		INT64_MIN, -1, 0, TD_TREND_TRAVEL_MIN_NS - 1, TD_TREND_TRAVEL_MAX_NS + 1, INT64_MAX};
	struct td_trend trend = learned();
	const struct td_trend before = trend;

	(void)state;
	for (size_t i = 0; i < sizeof(bad_ns) / sizeof(bad_ns[0]); i++)
		assert_int_equal(td_trend_travel(&trend, &rules, bad_ns[i]), TD_TREND_NOTHING);
	assert_memory_equal(&trend, &before, sizeof(trend));
}

static void rules_that_are_none_warn_of_nothing(void **state)
{
	static const struct td_trend_rules bad[] = {{0, 0, 0},
						    {100000, 200000, 1},
						    {TD_TREND_SLOWER_MAX_PPM + 1, 0, 1},
						    {1, 0, TD_TREND_NEEDED_MAX + 1}};

	(void)state;
	assert_true(td_trend_rules_ok(&rules));
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_trend trend = learned();

		assert_true(td_trend_rules_ok(&bad[i]) == (i == 0));
		for (int travels = 0; travels < 20; travels++)
			assert_int_equal(td_trend_travel(&trend, &bad[i], TD_MS(TRAVEL_MS * 3)),
					 TD_TREND_NOTHING);
	}
}

static void rubbish_in_the_state_begins_anew(void **state)
{
	struct dice dice = dice_start(142);

	(void)state;
	for (int i = 0; i < 50000; i++) {
		struct td_trend trend;
		struct td_trend_rules any = rules;

		dice_rubbish(&dice, &trend, sizeof(trend));
		if (dice_below(&dice, 2) == 0)
			trend = (struct td_trend){.learned_ns = dice_span(&dice, 1, TD_S(100000)),
						  .recent_ns = dice_span(&dice, 1, TD_S(100000)),
						  .learned = TD_TREND_LEARN};
		if (dice_below(&dice, 3) == 0)
			dice_rubbish(&dice, &any, sizeof(any));
		(void)td_trend_slower_ppm(&trend);
		(void)td_trend_travel(&trend, &any, dice_span(&dice, 1, TD_S(7000)));
		assert_true(td_trend_sane(&trend));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nothing_is_said_while_learning),
		cmocka_unit_test(steady_travels_say_nothing),
		cmocka_unit_test(a_slower_way_is_warned_of_once_and_recovers_once),
		cmocka_unit_test(the_warning_comes_after_so_many_travels),
		cmocka_unit_test(wear_that_creeps_is_found),
		cmocka_unit_test(a_single_travel_far_off_changes_nothing),
		cmocka_unit_test(a_faster_way_is_no_warning),
		cmocka_unit_test(times_out_of_range_are_ignored),
		cmocka_unit_test(rules_that_are_none_warn_of_nothing),
		cmocka_unit_test(rubbish_in_the_state_begins_anew),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
