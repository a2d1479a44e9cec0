/* SPDX-License-Identifier: MIT */
/* Requests passed straight to the bridge: what the comparison counts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "sim/straight.h"
#include "tests/support/cart.h"

static struct td_straight_result play(const struct td_straight_span *spans, size_t count)
{
	struct td_plant_model model = cart_model();
	struct td_straight_result result;

	const struct td_straight_case given = {.span = spans, .spans = count};

	assert_int_equal(td_straight_run(&model, &given, (struct td_watcher){0}, &result), 0);
	return result;
}

static void nothing_asked_is_nothing_done(void **state)
{
	(void)state;
	struct td_straight_result result = play(NULL, 0);

	assert_int_equal(result.axes, CART_AXES);
	assert_int_equal(result.starts, 0);
	assert_int_equal(result.end_ns, TD_S(1));
	assert_true(result.axis[CART_BOOM].position == 0.5);
}

/* Raised for 2 s from the middle: a second of travel, one time constant of 40 ms, then the stop. */
static void nobody_stops_it_at_the_end(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(100), TD_MS(2150), CART_BOOM, 1}};
	struct td_straight_result result = play(spans, 1);

	assert_int_equal(result.axis[CART_BOOM].skipped_teeth, 60);
	assert_true(llabs((long long)(result.axis[CART_BOOM].pushing_ns - TD_MS(1010))) < 1000);
	assert_int_equal(result.starts, 1);
}

static void overlapping_ways_put_both_inputs_high(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(200), TD_MS(400), CART_BOOM, 0},
							{TD_MS(0), TD_MS(250), CART_BOOM, 1},
							{TD_MS(390), TD_MS(500), CART_BOOM, 1}};
	struct td_straight_result result = play(spans, 3);

	assert_int_equal(result.axis[CART_BOOM].both_high, 2);
	assert_int_equal(result.axis[CART_BOOM].both_high_ns, TD_MS(60));
	assert_int_equal(result.axis[CART_BOOM].powered_ns, TD_MS(200 + 140 + 100));
}

static void spans_that_meet_are_not_both_high(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(0), TD_MS(100), CART_BOOM, 1},
							{TD_MS(100), TD_MS(200), CART_BOOM, 0}};
	struct td_straight_result result = play(spans, 2);

	assert_int_equal(result.axis[CART_BOOM].both_high, 0);
	assert_int_equal(result.axis[CART_BOOM].starts, 2);
}

static void spans_of_the_same_way_join(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(0), TD_MS(100), CART_DRIVE, 1},
							{TD_MS(50), TD_MS(80), CART_DRIVE, 1},
							{TD_MS(100), TD_MS(150), CART_DRIVE, 1}};
	struct td_straight_result result = play(spans, 3);

	assert_int_equal(result.axis[CART_DRIVE].starts, 1);
	assert_int_equal(result.axis[CART_DRIVE].powered_ns, TD_MS(150));
}

static void senseless_spans_are_passed_over(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(0), TD_MS(100), CART_AXES, 1},
							{TD_MS(0), TD_MS(100), 255, 255},
							{TD_MS(0), TD_MS(100), CART_BOOM, 2},
							{TD_MS(100), TD_MS(100), CART_BOOM, 1},
							{TD_MS(100), TD_MS(50), CART_BOOM, 1}};

	assert_int_equal(play(spans, 5).starts, 0);
}

/* 30 teeth in half a second against the jam, none where the jam blocks the gear itself. */
static void a_jam_comes_at_its_time(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(0), TD_MS(900), CART_BOOM, 1}};
	static const struct td_straight_fault faults[] = {{TD_MS(400), TD_STRAIGHT_JAM, CART_BOOM},
							  {TD_MS(500), TD_STRAIGHT_JAM, 255}};
	const struct td_straight_case given = {.span = spans, .spans = 1, .fault = faults, .faults = 2};
	struct td_plant_model model = cart_model();
	struct td_straight_result result;

	assert_int_equal(td_straight_run(&model, &given, (struct td_watcher){0}, &result), 0);
	assert_int_equal(result.axis[CART_BOOM].skipped_teeth, 30);
	assert_int_equal(result.axis[CART_BOOM].pushing_ns, TD_MS(500));
	model.motor[CART_BOOM].jam_teeth_per_s = 0;
	assert_int_equal(td_straight_run(&model, &given, (struct td_watcher){0}, &result), 0);
	assert_int_equal(result.axis[CART_BOOM].skipped_teeth, 0);
	assert_int_equal(result.axis[CART_BOOM].pushing_ns, TD_MS(500));
}

static void count_marks(void *ctx, const struct td_change *change)
{
	*(int *)ctx += change->kind == TD_CHANGE_OUTPUT;
}

static void a_watcher_is_told(void **state)
{
	(void)state;
	static const struct td_straight_span spans[] = {{TD_MS(0), TD_MS(100), CART_DRIVE, 1}};
	const struct td_straight_case given = {.span = spans, .spans = 1};
	struct td_plant_model model = cart_model();
	struct td_straight_result result;
	int outputs = 0;

	assert_int_equal(td_straight_run(&model, &given, (struct td_watcher){count_marks, &outputs}, &result),
			 0);
	assert_int_equal(outputs, CART_AXES * TD_WAYS + 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nothing_asked_is_nothing_done),
		cmocka_unit_test(nobody_stops_it_at_the_end),
		cmocka_unit_test(overlapping_ways_put_both_inputs_high),
		cmocka_unit_test(spans_that_meet_are_not_both_high),
		cmocka_unit_test(spans_of_the_same_way_join),
		cmocka_unit_test(senseless_spans_are_passed_over),
		cmocka_unit_test(a_jam_comes_at_its_time),
		cmocka_unit_test(a_watcher_is_told),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
