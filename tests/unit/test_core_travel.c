/* SPDX-License-Identifier: MIT */
/* R4, R5, R6: how far an axis has gone, told by powered time; exact to the nanosecond. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/travel.h"
#include "tests/support/rule_cart.h"

/* Runs since 1000 ms in the given way; 300 ms of way 0 and 200 ms of way 1 are committed. */
static struct td_axis running(uint8_t way)
{
	return (struct td_axis){.state = TD_AXIS_RUN,
				.way = way,
				.since_ns = TD_MS(1000),
				.cut_ns = TD_MS(500),
				.spent_ns = {TD_MS(300), TD_MS(200)}};
}

/* Only the two reaches matter. */
static struct td_axis_rules reaches(td_ns way0_ns, td_ns way1_ns)
{
	return (struct td_axis_rules){.way = {{.reach_ns = way0_ns}, {.reach_ns = way1_ns}}};
}

/* What running one way gives back of the other: span x other reach / own reach, rounded down. */
static void r4_going_back_gives_time_back_rounded_against_the_axis(void **state)
{
	static const struct {
		td_ns own_ns, other_ns, span_ns, worth_ns;
	} rows[] = {
		{TD_MS(2000), TD_MS(1600), TD_MS(500), TD_MS(400)},
		{TD_MS(1600), TD_MS(2000), TD_MS(800), TD_MS(1000)},
		{TD_MS(2000), TD_MS(1600), TD_MS(1999), TD_US(1599200)},
		{TD_MS(2000), TD_MS(1600), TD_MS(2000), TD_MS(1600)},
		{TD_MS(2000), TD_MS(1600), TD_MS(9000), TD_MS(1600)},
		/* parts of a microsecond: none of the span, none of the other reach, a whole one of the own */
		{TD_MS(100), TD_MS(100), TD_US(70) + 999, TD_US(70)},
		{TD_MS(100), TD_MS(100) + 999, TD_MS(50), TD_MS(50)},
		{TD_MS(100) + 1, TD_MS(100), TD_MS(50), TD_US(49999)},
		{TD_MS(100) - 1, TD_MS(100), TD_MS(50), TD_MS(50)},
		{TD_MS(100), TD_MS(100) + 999, TD_MS(100) - 1, TD_US(99999)},
		{TD_MS(100), TD_MS(100) + 999, TD_MS(100), TD_MS(100) + 999},
		/* both ends of the range, and the largest product there is */
		{TD_REACH_MIN_NS, TD_REACH_MIN_NS, TD_MS(5), TD_MS(5)},
		{TD_REACH_MAX_NS, TD_REACH_MAX_NS, TD_REACH_MAX_NS - TD_US(1), TD_REACH_MAX_NS - TD_US(1)},
		/* outside the range nothing is given back */
		{TD_REACH_MIN_NS - 1, TD_MS(100), TD_MS(50), 0},
		{TD_MS(100), TD_REACH_MIN_NS - 1, TD_MS(50), 0},
		{TD_REACH_MAX_NS + 1, TD_MS(100), TD_MS(50), 0},
		{TD_MS(100), TD_REACH_MAX_NS + 1, TD_MS(50), 0},
		{0, 0, TD_MS(50), 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			struct td_axis axis = running(way);
			struct td_axis_rules rules = way == 0 ? reaches(rows[i].own_ns, rows[i].other_ns)
							      : reaches(rows[i].other_ns, rows[i].own_ns);

			axis.spent_ns[1 - way] = TD_S(700);
			assert_int_equal(td_travel_spent(&axis, &rules, (uint8_t)(1 - way),
							 TD_MS(1000) + rows[i].span_ns),
					 TD_S(700) - rows[i].worth_ns);
		}
}

static void r4_the_running_part_counts_in_its_way(void **state)
{
	struct td_axis_rules rules = reaches(TD_MS(1600), TD_MS(2000));
	struct td_axis axis = running(1);

	(void)state;
	assert_int_equal(td_travel_spent(&axis, &rules, 1, TD_MS(1000)), TD_MS(200));
	assert_int_equal(td_travel_spent(&axis, &rules, 1, TD_MS(1000) + 1), TD_MS(200) + 1);
	assert_int_equal(td_travel_spent(&axis, &rules, 1, TD_MS(900)), TD_MS(200));
	assert_int_equal(td_travel_spent(&axis, &rules, 0, TD_MS(1250)), TD_MS(100));
	assert_int_equal(td_travel_spent(&axis, &rules, 0, TD_MS(2000)), 0);
	axis.state = TD_AXIS_WAIT;
	assert_int_equal(td_travel_spent(&axis, &rules, 1, TD_MS(2000)), TD_MS(200));
	assert_int_equal(td_travel_spent(&axis, &rules, 0, TD_MS(2000)), TD_MS(300));
}

static void a_way_that_does_not_exist_has_spent_nothing_and_gives_nothing_back(void **state)
{
	struct td_axis_rules rules = reaches(TD_MS(1600), TD_MS(2000));
	struct td_axis axis = running(TD_WAYS);

	(void)state;
	assert_int_equal(td_travel_spent(&axis, &rules, TD_WAYS, TD_MS(2000)), 0);
	assert_int_equal(td_travel_spent(&axis, &rules, TD_NO_WAY, TD_MS(2000)), 0);
	assert_int_equal(td_travel_spent(&axis, &rules, 0, TD_MS(2000)), TD_MS(300));
	assert_int_equal(td_travel_spent(&axis, &rules, 1, TD_MS(2000)), TD_MS(200));
	assert_int_equal(td_travel_deadline(&axis, TD_MS(900)), TD_NEVER);
	td_travel_at_end(&axis, &rules, TD_WAYS);
	assert_int_equal(axis.spent_ns[0], TD_MS(300));
	assert_int_equal(axis.spent_ns[1], TD_MS(200));
	assert_false(axis.located);
}

static void a_cut_commits_both_ways_of_the_same_moment(void **state)
{
	struct td_axis_rules rules = reaches(TD_MS(1600), TD_MS(2000));
	struct td_axis axis = running(0);

	(void)state;
	td_travel_commit(&axis, &rules, TD_MS(1080));
	assert_int_equal(axis.spent_ns[0], TD_MS(380));
	assert_int_equal(axis.spent_ns[1], TD_MS(100));
}

static void r4_r6_an_end_is_a_whole_travel_or_stroke(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_axis boom = running(1);
	struct td_axis wheel = running(0);

	(void)state;
	td_travel_at_end(&boom, &rules.axis[RULE_BOOM], 1);
	assert_int_equal(boom.spent_ns[1], TD_MS(2000));
	assert_int_equal(boom.spent_ns[0], 0);
	assert_true(boom.located);
	rules.axis[RULE_WHEEL].way[0].limit_ns = TD_MS(650);
	td_travel_at_end(&wheel, &rules.axis[RULE_WHEEL], 0);
	assert_int_equal(wheel.spent_ns[0], TD_MS(650));
	assert_int_equal(wheel.spent_ns[1], 0);
	assert_true(wheel.located);
	td_travel_forget(&wheel);
	assert_int_equal(wheel.spent_ns[0], 0);
	assert_false(wheel.located);
}

static void r6_only_standing_long_enough_restores_the_stroke(void **state)
{
	static const struct {
		td_ns restored_ns;
		enum td_axis_state state;
		td_ns now_ns;
		bool restored;
	} rows[] = {
		{TD_MS(2000), TD_AXIS_COAST, TD_MS(2500) - 1, false},
		{TD_MS(2000), TD_AXIS_COAST, TD_MS(2500), true},
		{TD_MS(2000), TD_AXIS_STILL, TD_MS(9000), true},
		{TD_MS(2000), TD_AXIS_RUN, TD_MS(9000), false},
		{1, TD_AXIS_STILL, TD_MS(500), false},
		{1, TD_AXIS_STILL, TD_MS(500) + 1, true},
		{0, TD_AXIS_STILL, TD_MS(9000), false},
		{-1, TD_AXIS_STILL, TD_MS(9000), false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_axis axis = running(0);
		const struct td_axis_rules rules = {.restored_ns = rows[i].restored_ns};

		axis.state = rows[i].state;
		td_travel_restore(&axis, &rules, rows[i].now_ns);
		assert_int_equal(axis.spent_ns[0], rows[i].restored ? 0 : TD_MS(300));
		assert_int_equal(axis.spent_ns[1], rows[i].restored ? 0 : TD_MS(200));
	}
}

static void r4_the_deadline_is_when_what_is_left_has_been_spent(void **state)
{
	struct td_axis axis = running(0);

	(void)state;
	assert_int_equal(td_travel_deadline(&axis, TD_MS(800)), TD_MS(1500));
	assert_int_equal(td_travel_deadline(&axis, TD_MS(300)), TD_MS(1000));
	assert_int_equal(td_travel_deadline(&axis, TD_MS(100)), TD_MS(1000));
	axis.way = 1;
	assert_int_equal(td_travel_deadline(&axis, TD_MS(800)), TD_MS(1600));
	axis.state = TD_AXIS_WAIT;
	assert_int_equal(td_travel_deadline(&axis, TD_MS(800)), TD_NEVER);
}

static void the_place_is_a_share_of_the_reach_where_it_is_known(void **state)
{
	static const struct {
		td_ns reach_ns, spent_ns;
		bool located;
		int32_t ppm;
	} rows[] = {
		{TD_MS(2000), 0, true, 0},
		{TD_MS(2000), TD_MS(500), true, 250000},
		{TD_MS(2000), TD_MS(2000) - 1, true, 999999},
		{TD_MS(2000), TD_MS(2000), true, 1000000},
		{TD_MS(2000), TD_MS(2001), true, 1000000},
		{TD_REACH_MAX_NS, TD_REACH_MAX_NS - 1, true, 999999},
		{TD_REACH_MAX_NS, TD_REACH_MAX_NS / 3, true, 333333},
		{TD_REACH_MIN_NS, TD_REACH_MIN_NS / 2, true, 500000},
		{TD_MS(2000), TD_MS(500), false, -1},
		{TD_REACH_MIN_NS - 1, 0, true, -1},
		{TD_REACH_MAX_NS + 1, 0, true, -1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_axis axis = {.state = TD_AXIS_STILL, .located = rows[i].located};
		struct td_axis_rules rules = reaches(TD_MS(100), rows[i].reach_ns);

		axis.spent_ns[1] = rows[i].spent_ns;
		assert_int_equal(td_travel_position_ppm(&axis, &rules, 0), rows[i].ppm);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r4_going_back_gives_time_back_rounded_against_the_axis),
		cmocka_unit_test(r4_the_running_part_counts_in_its_way),
		cmocka_unit_test(a_way_that_does_not_exist_has_spent_nothing_and_gives_nothing_back),
		cmocka_unit_test(a_cut_commits_both_ways_of_the_same_moment),
		cmocka_unit_test(r4_r6_an_end_is_a_whole_travel_or_stroke),
		cmocka_unit_test(r6_only_standing_long_enough_restores_the_stroke),
		cmocka_unit_test(r4_the_deadline_is_when_what_is_left_has_been_spent),
		cmocka_unit_test(the_place_is_a_share_of_the_reach_where_it_is_known),
	};

	return cmocka_run_group_tests_name("core_travel", tests, NULL, NULL);
}
