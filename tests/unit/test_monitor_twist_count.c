/* SPDX-License-Identifier: MIT */
/*
 * What the monitor counts of the twist (R18), without a machine: its bounds against arithmetic in floating point, its
 * contacts against those of the core, and numbers that should never be.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/monitor_parts.h"
#include "tests/support/dice.h"
#include "tests/support/rule_cart.h"

enum { BACK, AHEAD, PPM = 1000000 };

#define TURN INT64_C(1000000000000000)

static const struct td_monitor_lean nowhere = {.unknown = true};

/* A tenth of a turn a second at either stop, a hundredth straight on: nothing is built that well. */
static struct td_twist_rules rules_of(enum td_twist_source source)
{
	struct td_twist_rules rules = {.source = source, .limit_uturn = PPM, .steps_per_turn = 8};

	for (int way = 0; way < TD_WAYS; way++) {
		int32_t sign = way == AHEAD ? 1 : -1;

		rules.rate_ppm_s[way][TD_TWIST_LEFT] = sign * 100000;
		rules.rate_ppm_s[way][TD_TWIST_STRAIGHT] = sign * 10000;
		rules.rate_ppm_s[way][TD_TWIST_RIGHT] = sign * -100000;
	}
	return rules;
}

static struct td_monitor_lean from_to(int32_t least_ppm, int32_t most_ppm)
{
	return (struct td_monitor_lean){.known = true, .least_ppm = least_ppm, .most_ppm = most_ppm};
}

static struct td_monitor_twist fresh(void)
{
	struct td_monitor_twist twist;

	td_monitor_twist_init(&twist, 0);
	return twist;
}

static double turns(int64_t fturn)
{
	return (double)fturn / 1e15;
}

/* --- driving ------------------------------------------------------------------------------------------ */

static void r18_the_bounds_are_the_least_and_the_most_that_a_lean_can_turn(void **state)
{
	static const struct {
		int32_t least_ppm, most_ppm;
		bool unknown;
		double least, most; /* turns in ten seconds ahead */
	} rows[] = {
		{PPM, PPM, false, 1, 1},
		{-PPM, -PPM, false, -1, -1},
		{0, 0, false, 0.1, 0.1},
		{PPM / 2, PPM / 2, false, 0.55, 0.55},
		{-PPM / 2, PPM / 2, false, -0.45, 0.55},
		{-PPM, 0, false, -1, 0.1},
		{PPM / 4, PPM / 2, false, 0.325, 0.55},
		{PPM, PPM, true, 0, 1},
		{-PPM, -PPM, true, -1, 0},
		{-PPM, PPM, true, -1, 1},
	};
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_monitor_twist twist = fresh();
		struct td_monitor_lean lean = from_to(rows[i].least_ppm, rows[i].most_ppm);

		lean.unknown = rows[i].unknown;
		for (int second = 0; second < 10; second++)
			td_monitor_twist_driven(&twist, &rules, AHEAD, lean, TD_S(1));
		assert_true(turns(twist.least_fturn) > rows[i].least - 1e-9 &&
			    turns(twist.least_fturn) < rows[i].least + 1e-9);
		assert_true(turns(twist.most_fturn) > rows[i].most - 1e-9 &&
			    turns(twist.most_fturn) < rows[i].most + 1e-9);
		assert_true(twist.driven_fturn == TURN && twist.unsure_fturn == 0);
	}
}

/* Straight on turns to the left too: with that to both sides a range that spans the middle is least there. */
static void r18_the_middle_of_a_range_can_be_its_least(void **state)
{
	struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	rules.rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = 100000;
	td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(-PPM, PPM), TD_S(10));
	assert_true(twist.least_fturn == TURN / 10 && twist.most_fturn == TURN);
}

static void r18_with_a_steering_that_nobody_knows_there_is_only_doubt(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	td_monitor_twist_driven(&twist, &rules, BACK, nowhere, TD_S(10) - 1);
	assert_true(twist.least_fturn == 0 && twist.most_fturn == 0 && twist.driven_fturn == 0);
	assert_false(td_monitor_twist_beyond(&twist, &rules, BACK, nowhere));
	td_monitor_twist_driven(&twist, &rules, BACK, nowhere, 1);
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, nowhere));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(-PPM, PPM)));
}

/* The doubt is larger than the limit, but there is twist to take off: only the way that does is free. */
static void r18_the_way_back_is_free_however_large_the_doubt(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_S(1));
	td_monitor_twist_driven(&twist, &rules, AHEAD, nowhere, TD_S(100));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)));
	assert_false(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(PPM, PPM)));
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(-PPM, -PPM)));
	assert_false(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(-PPM, PPM)));
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, nowhere)); /* it could be the other side */
}

static void r18_after_a_drive_without_end_nothing_is_certain_until_it_is_untwisted(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	const struct td_monitor_lean left = from_to(PPM, PPM);
	struct td_monitor_twist twist = fresh();

	(void)state;
	td_monitor_twist_driven(&twist, &rules, AHEAD, left, TD_S(10000));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, left)); /* a thousand turns are certain */
	td_monitor_twist_driven(&twist, &rules, AHEAD, left, TD_S(10000) + TD_MS(1));
	assert_false(td_monitor_twist_beyond(&twist, &rules, AHEAD, left));
	assert_false(td_monitor_twist_beyond(&twist, &rules, BACK, left));
	td_monitor_twist_straight(&twist, true);
	td_monitor_twist_driven(&twist, &rules, AHEAD, left, TD_S(10));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, left));
}

static void r18_a_machine_that_never_turns_is_never_blocked(void **state)
{
	struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	twist.unsure_fturn = 4000 * TURN; /* from before the restart */
	for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
		rules.rate_ppm_s[AHEAD][side] = 0;
	td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_NEVER);
	assert_true(twist.least_fturn == 0 && twist.most_fturn == 0 && twist.driven_fturn == 0);
	assert_false(td_monitor_twist_beyond(&twist, &rules, AHEAD, nowhere));
	assert_false(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)));
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, nowhere));
}

static void r18_untwisting_that_is_not_certain_leaves_both(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_S(10));
	twist.least_counts = twist.most_counts = -5;
	twist.place = 2;
	td_monitor_twist_straight(&twist, false);
	assert_true(twist.least_fturn == 0 && twist.most_fturn == TURN);
	assert_true(twist.least_counts == -5 && twist.most_counts == 0);
	assert_true(twist.driven_fturn == 0 && twist.place == 2);
	twist.least_fturn = twist.most_fturn = -TURN;
	twist.least_counts = twist.most_counts = 5;
	td_monitor_twist_straight(&twist, false);
	assert_true(twist.least_fturn == -TURN && twist.most_fturn == 0);
	assert_true(twist.least_counts == 0 && twist.most_counts == 5);
	td_monitor_twist_straight(&twist, true);
	assert_true(twist.least_fturn == 0 && twist.most_counts == 0 && twist.place == 2);
}

/* One millionth of a turn a second is a turn, and straight on is where it leans to neither side. */
static void r18_the_least_that_turns_is_blocked(void **state)
{
	struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	twist.least_fturn = twist.most_fturn = TURN;
	rules.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = 1;
	rules.rate_ppm_s[BACK][TD_TWIST_LEFT] = -1;
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(1, 1)));
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(0, 0)));
	assert_false(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(-1, -1)));
	assert_false(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(1, 1)));
	twist.least_fturn = twist.most_fturn = -TURN;
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(1, 1)));
	assert_false(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(1, 1)));
}

/* --- the contacts ------------------------------------------------------------------------------------- */

static void r18_the_contacts_count_as_those_of_the_core(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_SENSOR);
	struct dice dice = dice_start(20261125);
	struct td_monitor_twist twist = fresh();
	struct td_twist core;
	size_t silences = 0;

	(void)state;
	td_twist_straighten(&core);
	for (int i = 0; i < 100000; i++) {
		uint8_t levels = (uint8_t)dice_below(&dice, 4);

		td_twist_advance(&core, &rules, AHEAD, TD_TWIST_LEFT, TD_MS(1));
		td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_MS(1));
		td_twist_contacts(&core, levels);
		td_monitor_twist_felt(&twist, (levels & 1) != 0, (levels & 2) != 0);
		assert_true(twist.least_counts == core.counts && twist.most_counts == core.counts);
		assert_int_equal(twist.slips, core.slips);
		assert_true(twist.silent_fturn == core.silent_fturn);
		silences += core.silent_fturn != 0;
	}
	assert_true(silences > 1000 && core.slips > 1000 && core.counts != 0);
}

static void r18_counts_and_slips_end_somewhere(void **state)
{
	struct td_monitor_twist twist = fresh();

	(void)state;
	twist.place = 0;
	twist.slips = UINT32_MAX;
	twist.most_counts = INT64_C(1) << 40;
	twist.least_counts = -twist.most_counts;
	td_monitor_twist_felt(&twist, true, false);
	assert_true(twist.most_counts == INT64_C(1) << 40 && twist.least_counts == 1 - twist.most_counts);
	td_monitor_twist_felt(&twist, false, true);
	assert_true(twist.slips == UINT32_MAX);
}

/* Both count and doubt as exactly as the core's: at every number of counts the same is beyond. */
static void r18_the_limit_of_a_sensor_is_that_of_the_core(void **state)
{
	static const int32_t steps[] = {1, 3, 7, 8, 24, 99999, 100000, -1, -7, -24};
	struct td_twist_rules rules = rules_of(TD_TWIST_SENSOR);
	struct td_monitor_twist twist = fresh();
	struct td_twist core;

	(void)state;
	td_twist_straighten(&core);
	for (size_t i = 0; i < sizeof(steps) / sizeof(steps[0]); i++) {
		rules.steps_per_turn = steps[i];
		for (int32_t limit = 1; limit < 10000; limit++) {
			rules.limit_uturn = limit * 3333;
			core.slips = twist.slips = (uint32_t)limit % 3;
			core.counts = (int64_t)limit * 3333 * steps[i] / PPM + limit % 5 - 2;
			twist.least_counts = twist.most_counts = core.counts;
			assert_int_equal(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)),
					 td_twist_blocks(&core, &rules, AHEAD, TD_TWIST_LEFT));
		}
	}
}

/* --- over a restart ----------------------------------------------------------------------------------- */

static void r18_what_was_kept_counts(void **state)
{
	const struct td_twist kept = {
		.net_fturn = -TURN,
		.gross_fturn = 2 * TURN,
		.unsure_fturn = 3,
		.silent_fturn = 4,
		.counts = -7,
		.slips = 5,
		.contacts = 2,
		.changed = 1,
	};
	struct td_rules rules = rule_cart();
	struct td_monitor monitor;

	(void)state;
	td_monitor_init(&monitor, &rules, TD_S(1));
	td_monitor_keep_twist(&monitor, &kept);
	const struct td_monitor_twist *twist = &monitor.twist;

	assert_true(twist->least_fturn == -TURN && twist->most_fturn == -TURN);
	assert_true(twist->driven_fturn == 2 * TURN && twist->unsure_fturn == 3 && twist->silent_fturn == 4);
	assert_true(twist->least_counts == -7 && twist->most_counts == -7);
	assert_true(twist->slips == 5 && twist->place == 3 && twist->moved == 1);
	for (uint8_t contacts = 0; contacts < 6; contacts++) {
		static const uint8_t places[] = {0, 1, 3, 2, 4, 4};
		const struct td_twist other = {.contacts = contacts};

		td_monitor_keep_twist(&monitor, &other);
		assert_int_equal(twist->place, places[contacts]);
	}
}

/* Straight is not what the keeper of a lost record says: every doubt, so every turn is blocked. */
static void r18_a_record_that_was_lost_blocks_every_turn(void **state)
{
	const struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();
	struct td_twist lost;

	(void)state;
	td_twist_init_unknown(&lost);
	td_monitor_twist_kept(&twist, &lost);
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, nowhere));
	assert_true(td_monitor_twist_beyond(&twist, &rules, BACK, from_to(PPM, PPM)));
	assert_int_equal(twist.place, 4);
}

static void r18_a_doubt_that_cannot_be_kept_is_none(void **state)
{
	const struct td_twist kept = {.net_fturn = INT64_MIN,
				      .gross_fturn = -1,
				      .unsure_fturn = INT64_MIN,
				      .silent_fturn = INT64_MAX,
				      .counts = INT64_MAX};
	struct td_monitor_twist twist = fresh();

	(void)state;
	td_monitor_twist_kept(&twist, &kept);
	assert_true(twist.least_fturn == -4000 * TURN && twist.most_fturn == -4000 * TURN);
	assert_true(twist.driven_fturn == 0 && twist.unsure_fturn == 0 && twist.silent_fturn == 4000 * TURN);
	assert_true(twist.most_counts == INT64_C(1) << 40);
}

/* --- what should never be ------------------------------------------------------------------------------ */

static void r18_rules_that_nobody_checked_block_nothing_and_break_nothing(void **state)
{
	static const struct td_monitor_lean leans[] = {
		{true, true, -PPM, PPM}, {true, false, PPM, PPM}, {false, true, 0, 0}};
	struct td_twist_rules rules[] = {rules_of((enum td_twist_source)9), rules_of(TD_TWIST_SENSOR),
					 rules_of(TD_TWIST_ESTIMATE), rules_of(TD_TWIST_UNLIMITED)};

	(void)state;
	rules[1].steps_per_turn = 0;
	rules[2].limit_uturn = INT32_MAX;
	rules[2].doubt_ppm = UINT32_MAX;
	rules[2].rate_ppm_s[AHEAD][TD_TWIST_LEFT] = INT32_MIN;
	for (size_t i = 0; i < sizeof(rules) / sizeof(rules[0]); i++) {
		struct td_monitor_twist twist = fresh();

		for (size_t k = 0; k < 30; k++) {
			td_monitor_twist_driven(&twist, &rules[i], AHEAD, leans[k % 3], TD_NEVER);
			td_monitor_twist_driven(&twist, &rules[i], AHEAD, leans[k % 3], TD_MS(400));
			assert_true(!td_monitor_twist_beyond(&twist, &rules[i], AHEAD, leans[k % 3]) ||
				    i == 2);
		}
	}
}

/* However long: sums stay within what the core can count. */
static void r18_nothing_is_counted_beyond_four_thousand_turns(void **state)
{
	struct td_twist_rules rules = rules_of(TD_TWIST_ESTIMATE);
	struct td_monitor_twist twist = fresh();

	(void)state;
	rules.doubt_ppm = PPM;
	for (int i = 0; i < 20; i++) {
		td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_S(9000));
		td_monitor_twist_driven(&twist, &rules, AHEAD, nowhere, TD_S(9000));
		rules.source = TD_TWIST_SENSOR;
		td_monitor_twist_driven(&twist, &rules, AHEAD, from_to(PPM, PPM), TD_S(9000));
		rules.source = TD_TWIST_ESTIMATE;
	}
	assert_true(twist.least_fturn == 4000 * TURN && twist.driven_fturn == 4000 * TURN);
	assert_true(twist.unsure_fturn == 4000 * TURN && twist.silent_fturn == 4000 * TURN);
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)));
	twist.slips = UINT32_MAX;
	rules.source = TD_TWIST_SENSOR;
	assert_true(td_monitor_twist_beyond(&twist, &rules, AHEAD, from_to(PPM, PPM)));
}

static void r18_a_cable_without_its_axes_is_not_judged(void **state)
{
	struct td_rules rules = rule_cart();
	static struct td_monitor monitor;

	(void)state;
	rules.cable = (struct td_cable_rules){.twist = rules_of(TD_TWIST_ESTIMATE)};
	for (int which = 0; which < 2; which++) {
		rules.cable.drive = which == 0 ? RULE_AXES : RULE_DRIVE;
		rules.cable.steering = which == 1 ? RULE_AXES : RULE_WHEEL;
		td_monitor_init(&monitor, &rules, 0);
		monitor.twist.unsure_fturn = 4000 * TURN;
		assert_false(td_monitor_twists(&monitor, &rules, rules.cable.drive, AHEAD));
	}
	rules.cable.steering = RULE_WHEEL;
	assert_true(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD));
	assert_false(td_monitor_twists(&monitor, &rules, RULE_WHEEL, AHEAD));
}

/* A stroke out of range is no scale, powered both ways is no way. */
static void r18_a_steering_without_a_scale_may_stand_anywhere(void **state)
{
	static const td_ns reaches_ns[] = {0, TD_REACH_MIN_NS - 1, TD_REACH_MAX_NS + 1, TD_REACH_MAX_NS};
	struct td_rules rules = rule_cart();
	static struct td_monitor monitor;

	(void)state;
	rules.cable = (struct td_cable_rules){
		.twist = rules_of(TD_TWIST_ESTIMATE), .drive = RULE_DRIVE, .steering = RULE_WHEEL, .left = 1};
	for (size_t i = 0; i < sizeof(reaches_ns) / sizeof(reaches_ns[0]); i++) {
		rules.axis[RULE_WHEEL].way[1].reach_ns = reaches_ns[i];
		td_monitor_init(&monitor, &rules, 0);
		monitor.axis[RULE_WHEEL].located = true;
		monitor.axis[RULE_WHEEL].lost = false;
		monitor.axis[RULE_WHEEL].way[1].least_ns = TD_S(700);
		monitor.axis[RULE_WHEEL].way[1].most_ns = TD_S(700);
		monitor.twist.least_fturn = TURN;
		assert_int_equal(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD), i == 3);
	}
	for (int way = 0; way < TD_WAYS; way++)
		monitor.axis[RULE_DRIVE].way[way].on = true;
	monitor.now_ns = TD_S(1);
	td_monitor_cable_drive(&monitor, &rules);
	assert_true(monitor.twist.least_fturn == TURN && monitor.twist.counted_ns == TD_S(1));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r18_the_bounds_are_the_least_and_the_most_that_a_lean_can_turn),
		cmocka_unit_test(r18_the_middle_of_a_range_can_be_its_least),
		cmocka_unit_test(r18_with_a_steering_that_nobody_knows_there_is_only_doubt),
		cmocka_unit_test(r18_the_way_back_is_free_however_large_the_doubt),
		cmocka_unit_test(r18_after_a_drive_without_end_nothing_is_certain_until_it_is_untwisted),
		cmocka_unit_test(r18_a_machine_that_never_turns_is_never_blocked),
		cmocka_unit_test(r18_untwisting_that_is_not_certain_leaves_both),
		cmocka_unit_test(r18_the_least_that_turns_is_blocked),
		cmocka_unit_test(r18_the_contacts_count_as_those_of_the_core),
		cmocka_unit_test(r18_counts_and_slips_end_somewhere),
		cmocka_unit_test(r18_the_limit_of_a_sensor_is_that_of_the_core),
		cmocka_unit_test(r18_what_was_kept_counts),
		cmocka_unit_test(r18_a_record_that_was_lost_blocks_every_turn),
		cmocka_unit_test(r18_a_doubt_that_cannot_be_kept_is_none),
		cmocka_unit_test(r18_rules_that_nobody_checked_block_nothing_and_break_nothing),
		cmocka_unit_test(r18_nothing_is_counted_beyond_four_thousand_turns),
		cmocka_unit_test(r18_a_cable_without_its_axes_is_not_judged),
		cmocka_unit_test(r18_a_steering_without_a_scale_may_stand_anywhere),
	};

	return cmocka_run_group_tests_name("monitor_twist_count", tests, NULL, NULL);
}
