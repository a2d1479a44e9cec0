/* SPDX-License-Identifier: MIT */
/* The size of a step changes nothing; a watch tells everything in order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "sim/plant.h"
#include "sim/watch.h"
#include "tests/support/cart.h"

static struct td_plant_report report_of(const struct td_plant *plant, uint8_t axis)
{
	struct td_plant_report report;

	td_plant_report(plant, axis, &report);
	return report;
}

static struct td_plant plant_of(struct td_plant_model model)
{
	struct td_plant plant;

	td_plant_init(&plant, &model, 0);
	return plant;
}

/* --- the size of a step ----------------------------------------------------------------------------- */

enum { STORY = 200 };

/* The same story of outputs and faults, advanced in steps of at most `step_ns`; returns the plant. */
static struct td_plant tell_story(uint64_t seed, td_ns step_ns)
{
	struct td_plant_model model = cart_model();
	uint64_t random = seed;

	model.seed = seed;
	struct td_plant plant = plant_of(model);
	for (int chapter = 0; chapter < STORY; chapter++) {
		random = random * 6364136223846793005U + 1442695040888963407U;
		td_ns until = plant.now_ns + (td_ns)(random >> 40) * 40; /* up to 0.67 s */

		while (plant.now_ns < until)
			td_plant_advance(&plant, td_time_earlier(until, plant.now_ns + step_ns));
		td_plant_outputs(&plant, until, (uint32_t)(random >> 36) & 0xfU);
		if (chapter % 17 == 16)
			td_plant_jam(&plant, CART_BOOM, chapter % 2);
		if (chapter % 23 == 22)
			td_plant_push(&plant, CART_BOOM, (double)(random >> 50) / (1 << 14));
	}
	return plant;
}

static void one_big_step_equals_many_small_ones_bit_for_bit(void **state)
{
	(void)state;
	static const td_ns steps[] = {TD_US(37), TD_MS(1), 1234567, TD_MS(100)};

	for (uint64_t seed = 1; seed <= 5; seed++) {
		struct td_plant big = tell_story(seed, TD_S(3600));

		assert_true(report_of(&big, CART_BOOM).pushing_ns > 0);
		for (size_t i = 0; i < sizeof(steps) / sizeof(steps[0]); i++) {
			struct td_plant small = tell_story(seed, steps[i]);

			assert_int_equal(td_plant_levels(&small), td_plant_levels(&big));
			assert_int_equal(td_plant_next(&small), td_plant_next(&big));
			for (uint8_t axis = 0; axis < CART_AXES; axis++) {
				struct td_plant_report a = report_of(&small, axis);
				struct td_plant_report b = report_of(&big, axis);

				assert_true(a.position == b.position && a.speed == b.speed);
				assert_int_equal(a.pushing_ns, b.pushing_ns);
				assert_int_equal(a.powered_ns, b.powered_ns);
				assert_int_equal(a.both_high_ns, b.both_high_ns);
				assert_int_equal(a.skipped_teeth, b.skipped_teeth);
			}
		}
	}
}

static void an_axis_never_leaves_its_travel(void **state)
{
	(void)state;
	struct td_plant_model model = cart_model();
	struct td_plant plant = plant_of(model);
	uint64_t random = 99;

	for (int i = 0; i < 20000; i++) {
		random = random * 6364136223846793005U + 1442695040888963407U;
		td_plant_outputs(&plant, plant.now_ns + (td_ns)(random >> 42) * 100,
				 (uint32_t)(random >> 36) & 0xfU);
		double position = report_of(&plant, CART_BOOM).position;
		assert_true(position >= -1e-9 && position <= 1 + 1e-9);
		assert_true(td_plant_next(&plant) > plant.now_ns);
	}
}

/* --- watching --------------------------------------------------------------------------------------- */

struct log {
	struct td_change change[4096];
	size_t count;
};

static void keep(void *ctx, const struct td_change *change)
{
	struct log *log = ctx;

	assert_true(log->count < sizeof(log->change) / sizeof(log->change[0]));
	assert_true(log->count == 0 || change->at_ns >= log->change[log->count - 1].at_ns);
	log->change[log->count++] = *change;
}

static void watch_story(struct log *log, td_ns step_ns)
{
	struct td_plant plant = plant_of(cart_model());
	struct td_watch watch;

	log->count = 0;
	td_watch_start(&watch, &plant, TD_MS(10), (struct td_watcher){keep, log});
	td_watch_outputs(&watch, TD_MS(100), CART_RAISE);
	for (td_ns at = TD_MS(100); at < TD_MS(1800); at += step_ns)
		td_watch_run(&watch, at);
	td_watch_outputs(&watch, TD_MS(1800), CART_LOWER);
	td_watch_mark(&watch, "down again");
	td_watch_run(&watch, TD_MS(2500));
	td_watch_outputs(&watch, TD_MS(2500), 0);
	td_watch_run(&watch, TD_MS(9000));
}

static void a_watch_tells_every_change_in_order(void **state)
{
	(void)state;
	static struct log log;
	int levels = 0;
	int marks = 0;
	int64_t teeth = 0;

	watch_story(&log, TD_MS(1));
	for (size_t i = 0; i < log.count; i++) {
		levels += log.change[i].kind == TD_CHANGE_LEVEL && log.change[i].index == CART_TOP;
		marks +=
			log.change[i].kind == TD_CHANGE_MARK && strcmp(log.change[i].text, "down again") == 0;
		if (log.change[i].kind == TD_CHANGE_TEETH && log.change[i].index == CART_BOOM)
			teeth = log.change[i].value;
	}
	assert_int_equal(marks, 1);
	assert_int_equal(teeth, 39); /* 660 ms against the stop at 60 a second */
	assert_in_range(levels, 1 + 2 * 3, 1 + 2 * (1 + TD_FEELER_FLIPS_MAX)); /* first value; two bursts */
	assert_true(log.change[log.count - 1].at_ns < TD_MS(3000)); /* at rest nothing more is told */
	assert_true(log.count > 200);                               /* samples every 10 ms */
}

static void a_watch_tells_the_same_in_any_steps(void **state)
{
	(void)state;
	static struct log big;
	static struct log small;

	watch_story(&big, TD_MS(500));
	watch_story(&small, TD_US(100));
	assert_int_equal(big.count, small.count);
	for (size_t i = 0; i < big.count; i++) {
		assert_int_equal(big.change[i].at_ns, small.change[i].at_ns);
		assert_int_equal(big.change[i].kind, small.change[i].kind);
		assert_int_equal(big.change[i].index, small.change[i].index);
		assert_int_equal(big.change[i].value, small.change[i].value);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_big_step_equals_many_small_ones_bit_for_bit),
		cmocka_unit_test(an_axis_never_leaves_its_travel),
		cmocka_unit_test(a_watch_tells_every_change_in_order),
		cmocka_unit_test(a_watch_tells_the_same_in_any_steps),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
