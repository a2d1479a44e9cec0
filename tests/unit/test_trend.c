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

static void every_field_of_a_state_is_held_to_its_bounds(void **state)
{
	enum { LEARNED = TD_TREND_LEARN };
	static const td_ns low = TD_TREND_TRAVEL_MIN_NS;
	static const td_ns high = TD_TREND_TRAVEL_MAX_NS;
	static const struct {
		struct td_trend trend;
		bool sane;
	} rows[] = {
		{{0, 0, {0, 0}, 0, 0, 0}, true},
		{{low, low, {low, low}, 1, 0, 0}, true},
		{{high, high, {high, high}, LEARNED, TD_TREND_NEEDED_MAX, 1}, true},
		{{low, low, {0, 0}, LEARNED + 1, 0, 0}, false},
		{{low, low, {0, 0}, LEARNED, 0, 2}, false},
		{{low, low, {0, 0}, LEARNED, TD_TREND_NEEDED_MAX + 1, 0}, false},
		{{low, low, {low - 1, 0}, LEARNED, 0, 0}, false},
		{{low, low, {high + 1, 0}, LEARNED, 0, 0}, false},
		{{low, low, {0, low - 1}, LEARNED, 0, 0}, false},
		{{low, low, {0, high + 1}, LEARNED, 0, 0}, false},
		{{low, 0, {0, 0}, 0, 0, 0}, false},
		{{0, low, {0, 0}, 0, 0, 0}, false},
		{{low - 1, low, {0, 0}, 1, 0, 0}, false},
		{{high + 1, low, {0, 0}, 1, 0, 0}, false},
		{{low, low - 1, {0, 0}, 1, 0, 0}, false},
		{{low, high + 1, {0, 0}, 1, 0, 0}, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_int_equal(td_trend_sane(&rows[i].trend), rows[i].sane);
}

static void rules_at_their_bounds_are_good(void **state)
{
	static const struct td_trend_rules good[] = {
		{TD_TREND_SLOWER_MAX_PPM, TD_TREND_SLOWER_MAX_PPM, TD_TREND_NEEDED_MAX}, {0, 0, 1}};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++)
		assert_true(td_trend_rules_ok(&good[i]));
	assert_false(td_trend_rules_ok(&(struct td_trend_rules){1, 2, 1}));
}

/* 1 s, 2 s, 3 s ... : the middle one of three is the one before; their mean, each difference rounded towards it. */
static void what_is_learned_is_the_mean_of_the_middle_ones(void **state)
{
	struct td_trend trend;
	td_ns mean_ns = 0;

	(void)state;
	td_trend_init(&trend);
	for (int i = 1; i <= TD_TREND_LEARN + 2; i++) {
		enum td_trend_news news = travel(&trend, INT64_C(1000) * i);

		assert_int_equal(news, i == TD_TREND_LEARN + 2 ? TD_TREND_LEARNED : TD_TREND_NOTHING);
		assert_int_equal(trend.learned, i < 3 ? 0 : i - 2);
		mean_ns = i < 3 ? 0 : TD_MS(2000 + 500 * (i - 3)); /* of 2 ... i - 1 */
		assert_true(llabs(trend.learned_ns - mean_ns) < 10);
		assert_true(trend.recent_ns == trend.learned_ns);
	}
}

/* Every order of three different travels: the middle one is what counts. */
static void the_middle_one_of_three_counts_in_any_order(void **state)
{
	static const int orders[][3] = {{1, 2, 3}, {1, 3, 2}, {2, 1, 3}, {2, 3, 1}, {3, 1, 2}, {3, 2, 1},
					{1, 1, 3}, {3, 3, 1}, {1, 3, 1}, {3, 1, 3}, {3, 1, 1}, {1, 3, 3}};
	static const int middles[] = {2, 2, 2, 2, 2, 2, 1, 3, 1, 3, 1, 3};

	(void)state;
	for (size_t i = 0; i < sizeof(middles) / sizeof(middles[0]); i++) {
		struct td_trend trend;

		td_trend_init(&trend);
		for (int k = 0; k < 3; k++)
			assert_int_equal(travel(&trend, INT64_C(1000) * orders[i][k]), TD_TREND_NOTHING);
		assert_true(trend.learned_ns == TD_S(middles[i]));
		assert_true(trend.last_ns[0] == TD_S(orders[i][1]) && trend.last_ns[1] == TD_S(orders[i][2]));
	}
}

/* A quarter of the difference goes in. */
static void a_recent_travel_counts_a_quarter(void **state)
{
	struct td_trend trend = learned();

	(void)state;
	(void)travel(&trend, 4000);
	assert_true(trend.recent_ns == TD_MS(2000));
	(void)travel(&trend, 4000);
	assert_true(trend.recent_ns == TD_MS(2500));
	assert_int_equal(td_trend_slower_ppm(&trend), 250000);
	(void)travel(&trend, 4000);
	assert_true(trend.recent_ns == TD_MS(2875));
	assert_int_equal(trend.slow, 2);
	assert_true(trend.learned_ns == TD_MS(2000));
}

/* A state with a recent time just at its bound, where the next travel is as long as that. */
static enum td_trend_news judged(int64_t recent_ms, uint8_t warned, uint8_t slow, struct td_trend *after)
{
	struct td_trend trend = {.learned_ns = TD_MS(2000),
				 .recent_ns = TD_MS(recent_ms),
				 .last_ns = {TD_MS(recent_ms), TD_MS(recent_ms)},
				 .learned = TD_TREND_LEARN,
				 .slow = slow,
				 .warned = warned};
	enum td_trend_news news = travel(&trend, recent_ms);

	*after = trend;
	return news;
}

/* slower: 20 %, steady: 10 %; three times in a row. */
static void a_warning_begins_above_one_bound_and_ends_at_the_other(void **state)
{
	static const struct {
		int64_t recent_ms;
		uint8_t warned, slow;
		enum td_trend_news news;
		uint8_t then_warned, then_slow;
	} rows[] = {
		{2400, 0, 2, TD_TREND_NOTHING, 0, 0},   {2401, 0, 2, TD_TREND_SLOWER, 1, 3},
		{2401, 0, 1, TD_TREND_NOTHING, 0, 2},   {2401, 0, 3, TD_TREND_SLOWER, 1, 3},
		{2401, 1, 3, TD_TREND_NOTHING, 1, 3},   {2201, 1, 3, TD_TREND_NOTHING, 1, 0},
		{2200, 1, 3, TD_TREND_RECOVERED, 0, 0}, {2200, 0, 2, TD_TREND_NOTHING, 0, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_trend after;

		assert_int_equal(judged(rows[i].recent_ms, rows[i].warned, rows[i].slow, &after),
				 rows[i].news);
		assert_int_equal(after.warned, rows[i].then_warned);
		assert_int_equal(after.slow, rows[i].then_slow);
	}
}

static void one_slow_travel_is_enough_where_the_rules_say_so(void **state)
{
	const struct td_trend_rules once = {.slower_ppm = 200000, .steady_ppm = 100000, .needed = 1};
	struct td_trend trend = {.learned_ns = TD_MS(2000),
				 .recent_ns = TD_MS(2401),
				 .last_ns = {TD_MS(2401), TD_MS(2401)},
				 .learned = TD_TREND_LEARN};

	(void)state;
	assert_int_equal(td_trend_travel(&trend, &once, TD_MS(2401)), TD_TREND_SLOWER);
	assert_int_equal(trend.slow, 1);
	assert_int_equal(td_trend_travel(&trend, &once, TD_MS(2401)), TD_TREND_NOTHING);
	assert_int_equal(trend.slow, 1);
}

static void how_much_slower_ends_where_the_number_does(void **state)
{
	struct td_trend trend = {.learned_ns = TD_TREND_TRAVEL_MIN_NS,
				 .recent_ns = TD_TREND_TRAVEL_MAX_NS,
				 .learned = TD_TREND_LEARN};

	(void)state;
	assert_true(td_trend_sane(&trend));
	assert_int_equal(td_trend_slower_ppm(&trend), INT32_MAX);
	trend.learned--;
	assert_int_equal(td_trend_slower_ppm(&trend), 0);
	trend.learned++;
	trend.warned = 2;
	assert_int_equal(td_trend_slower_ppm(&trend), 0);
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
		cmocka_unit_test(every_field_of_a_state_is_held_to_its_bounds),
		cmocka_unit_test(rules_at_their_bounds_are_good),
		cmocka_unit_test(what_is_learned_is_the_mean_of_the_middle_ones),
		cmocka_unit_test(the_middle_one_of_three_counts_in_any_order),
		cmocka_unit_test(a_recent_travel_counts_a_quarter),
		cmocka_unit_test(a_warning_begins_above_one_bound_and_ends_at_the_other),
		cmocka_unit_test(one_slow_travel_is_enough_where_the_rules_say_so),
		cmocka_unit_test(how_much_slower_ends_where_the_number_does),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
