/* SPDX-License-Identifier: MIT */
/* R18: net turns of the machine, counted or estimated, and which way is blocked. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/dice.h"
#include "tests/unit/twist_cart.h"

/* --- the estimate ---------------------------------------------------------------------------------- */

/*
 * Yaw rate v tan(d) / L of a machine with a fixed axle and a wheel steered by d at the distance L (textbook
 * geometry); R = L / tan(d). The rows are computed from the formula: radius, rate, time for one turn.
 */
static void R18_one_turn_takes_as_long_as_geometry_says(void **state)
{
	static const struct {
		double base_m, angle_deg, speed_m_s, radius_m, rate_rad_s, turn_s;
	} rows[] = {{0.25, 30, 0.5, 0.43301, 1.15470, 5.4414},
		    {0.20, 25, 0.3, 0.42890, 0.69946, 8.9829},
		    {0.30, 45, 1.0, 0.30000, 3.33333, 1.8850}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
		struct td_twist twist;
		double angle = rows[i].angle_deg * acos(-1) / 180;
		double rate_rad_s = rows[i].speed_m_s * tan(angle) / rows[i].base_m;
		int32_t rate_ppm_s = (int32_t)lround(rate_rad_s / (2 * acos(-1)) * 1e6);

		assert_true(fabs(rows[i].base_m / tan(angle) - rows[i].radius_m) < 6e-6);
		assert_true(fabs(rate_rad_s - rows[i].rate_rad_s) < 6e-6);
		rules.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = rate_ppm_s;
		rules.rate_ppm_s[BACK][TD_TWIST_LEFT] = -rate_ppm_s;
		td_twist_straighten(&twist);
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, (td_ns)(rows[i].turn_s * 1e9));
		assert_true(llabs(td_twist_net_uturn(&twist, &rules) - 1000000) < 30);
		rules.limit_uturn = 1000000;
		td_twist_straighten(&twist);
		double left_s = (double)td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) / 1e9;

		assert_true(fabs(left_s - rows[i].turn_s) < 1e-4);
		/* back along the same arc takes the turn off again */
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_MS(777));
		td_twist_advance(&twist, &rules, BACK, TD_TWIST_LEFT, TD_MS(777));
		assert_true(twist.net_fturn == 0);
	}
}

static void R18_only_the_way_that_adds_twist_is_blocked(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	td_twist_straighten(&twist);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(20) - 1);
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, 1);
	assert_true(td_twist_net_uturn(&twist, &rules) == 2000000);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_true(td_twist_blocks(&twist, &rules, BACK, TD_TWIST_RIGHT));
	assert_false(td_twist_blocks(&twist, &rules, BACK, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	/* where the steering stands is not known: it could add */
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT) == TD_NEVER);
	assert_true(td_twist_left_ns(&twist, &rules, BACK, TD_TWIST_LEFT) == TD_S(40));
	/* and to the other side just so */
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, TD_S(40));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
}

static void R18_the_deadline_is_when_it_blocks(void **state)
{
	struct dice dice = dice_start(181);

	(void)state;
	for (int i = 0; i < 20000; i++) {
		struct td_twist_rules rules =
			cart(dice_below(&dice, 2) ? TD_TWIST_ESTIMATE : TD_TWIST_SENSOR);
		enum td_twist_side side = (enum td_twist_side)dice_below(&dice, TD_TWIST_SIDES);
		uint8_t way = (uint8_t)dice_below(&dice, TD_WAYS);
		struct td_twist twist;

		rules.doubt_ppm = (uint32_t)dice_below(&dice, 1000001);
		rules.rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = -(int32_t)dice_span(&dice, 1000, 1000000);
		rules.rate_ppm_s[BACK][TD_TWIST_RIGHT] = -rules.rate_ppm_s[AHEAD][TD_TWIST_RIGHT];
		td_twist_straighten(&twist);
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, dice_span(&dice, 1, TD_S(20)));
		td_twist_advance(&twist, &rules, BACK, TD_TWIST_LEFT, dice_span(&dice, 1, TD_S(20)));
		td_ns left_ns = td_twist_left_ns(&twist, &rules, way, side);

		assert_true((left_ns == 0) == td_twist_blocks(&twist, &rules, way, side));
		if (left_ns == TD_NEVER || left_ns == 0 ||
		    (rules.source == TD_TWIST_SENSOR && side == TD_TWIST_UNKNOWN))
			continue;
		struct td_twist later = twist;
		bool back = twist.net_fturn != 0 && side != TD_TWIST_UNKNOWN &&
			    (twist.net_fturn > 0) == (rules.rate_ppm_s[way][side] < 0);

		td_twist_advance(&later, &rules, way, side, left_ns + 20000);
		assert_true(back || td_twist_blocks(&later, &rules, way, side));
		later = twist;
		td_twist_advance(&later, &rules, way, side, left_ns > 20000 ? left_ns - 20000 : 0);
		assert_false(td_twist_blocks(&later, &rules, way, side));
	}
}

static void R18_many_small_steps_and_one_big_one_are_the_same(void **state)
{
	struct dice dice = dice_start(182);
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist once;
	struct td_twist often;

	(void)state;
	rules.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = 12347;
	td_twist_straighten(&once);
	td_twist_straighten(&often);
	td_ns sum_ns = 0;

	for (int i = 0; i < 100000; i++) {
		td_ns span_ns = dice_span(&dice, 1, TD_MS(20));

		td_twist_advance(&often, &rules, AHEAD, TD_TWIST_LEFT, span_ns);
		sum_ns += span_ns;
	}
	td_twist_advance(&once, &rules, AHEAD, TD_TWIST_LEFT, sum_ns);
	assert_memory_equal(&once, &often, sizeof(once));
}

/* Ten per cent of doubt: after ten turns to and fro one turn of the two is gone, to both sides. */
static void R18_doubt_about_an_estimate_shrinks_the_limit(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	rules.doubt_ppm = 100000;
	td_twist_straighten(&twist);
	for (int i = 0; i < 10; i++) {
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(5));
		td_twist_advance(&twist, &rules, BACK, TD_TWIST_LEFT, TD_S(5));
	}
	assert_true(td_twist_net_uturn(&twist, &rules) == 0);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1000000);
	/* the rest, one turn, and while it is made doubt goes on growing by a tenth */
	assert_true(llabs(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) - TD_S(100) / 11) <
		    TD_US(1));
	for (int i = 0; i < 10; i++) {
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, TD_S(5));
		td_twist_advance(&twist, &rules, BACK, TD_TWIST_RIGHT, TD_S(5));
	}
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	td_twist_straighten(&twist);
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
}

/* A steering that is a little off turns a machine that drives straight: a tenth of the smaller circle, here 50 % more. */
static void R18_driving_straight_is_doubt_too(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	rules.doubt_ppm = 100000;
	rules.rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = -150000;
	td_twist_straighten(&twist);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT, TD_S(20));
	assert_true(td_twist_net_uturn(&twist, &rules) == 0);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 300000);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(10));
	assert_true(td_twist_net_uturn(&twist, &rules) == 1000000);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 450000);
	/* 0.55 turns are left and go at 0.1 + 0.015 a second: 4.7826 s */
	assert_true(llabs(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) - INT64_C(4782608696)) <
		    TD_US(1));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT, TD_S(1000));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT)); /* back towards straight */
}

/* However great the doubt: back towards straight stays free. */
static void R18_the_way_back_is_never_blocked(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	td_twist_init_unknown(&twist);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	twist.net_fturn = 1;
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
}

static void R18_turns_with_unknown_steering_are_doubt(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	td_twist_straighten(&twist);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN, TD_S(3));
	td_twist_advance(&twist, &rules, TD_NO_WAY, TD_TWIST_UNKNOWN, TD_S(3000));
	assert_true(td_twist_net_uturn(&twist, &rules) == 0);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 300000);
}

static void R18_numbers_out_of_range_block_and_tell_nothing(void **state)
{
	static const struct {
		int32_t limit_uturn, rate_ppm_s, steps;
		uint32_t doubt_ppm;
		bool ok;
	} rows[] = {
		{1, 0, 1, 0, true},
		{TD_TWIST_LIMIT_MAX_UTURN, TD_TWIST_RATE_MAX_PPM_S, TD_TWIST_STEPS_MAX, 1000000, true},
		{1, -TD_TWIST_RATE_MAX_PPM_S, -TD_TWIST_STEPS_MAX, 0, true},
		{0, 0, 1, 0, false},
		{TD_TWIST_LIMIT_MAX_UTURN + 1, 0, 1, 0, false},
		{1, TD_TWIST_RATE_MAX_PPM_S + 1, 1, 0, false},
		{1, -TD_TWIST_RATE_MAX_PPM_S - 1, 1, 0, false},
		{1, 0, 0, 0, false},
		{1, 0, TD_TWIST_STEPS_MAX + 1, 0, false},
		{1, 0, -TD_TWIST_STEPS_MAX - 1, 0, false},
		{1, 0, 1, 1000001, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
		struct td_twist twist;

		rules.limit_uturn = rows[i].limit_uturn;
		rules.rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = rows[i].rate_ppm_s;
		rules.steps_per_turn = rows[i].steps;
		rules.doubt_ppm = rows[i].doubt_ppm;
		td_twist_straighten(&twist);
		twist.counts = 1000;
		twist.slips = UINT32_MAX;
		td_twist_contacts(&twist, 0);
		td_twist_contacts(&twist, 3); /* one more slip than can be counted */
		assert_true(twist.slips == UINT32_MAX);
		assert_true(td_twist_rules_ok(&rules) == rows[i].ok);
		assert_true((td_twist_net_uturn(&twist, &rules) != 0) == rows[i].ok);
		assert_true((td_twist_doubt_uturn(&twist, &rules) != 0) == rows[i].ok);
		assert_true(rows[i].ok || td_twist_blocks(&twist, &rules, BACK, TD_TWIST_STRAIGHT));
		rules = cart(TD_TWIST_UNLIMITED);
		assert_true(td_twist_net_uturn(&twist, &rules) == 0);
		assert_true(td_twist_doubt_uturn(&twist, &rules) == 0);
	}
}

/* --- what cannot be -------------------------------------------------------------------------------- */

static void R18_rules_are_held_to_their_bounds(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist;

	(void)state;
	assert_true(td_twist_rules_ok(&rules));
	rules.limit_uturn = 0;
	assert_false(td_twist_rules_ok(&rules));
	rules.limit_uturn = TD_TWIST_LIMIT_MAX_UTURN + 1;
	assert_false(td_twist_rules_ok(&rules));
	rules = cart(TD_TWIST_SENSOR);
	rules.rate_ppm_s[BACK][TD_TWIST_RIGHT] = -TD_TWIST_RATE_MAX_PPM_S - 1;
	assert_false(td_twist_rules_ok(&rules));
	rules = cart(TD_TWIST_SENSOR);
	rules.steps_per_turn = 0;
	assert_false(td_twist_rules_ok(&rules));
	rules = cart(TD_TWIST_ESTIMATE);
	rules.doubt_ppm = 1000001;
	assert_false(td_twist_rules_ok(&rules));
	memset(&rules, 0, sizeof(rules));
	td_twist_straighten(&twist);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	rules.source = TD_TWIST_UNLIMITED;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN, TD_S(100));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == TD_NEVER);
}

static void R18_sums_saturate_on_the_cautious_side(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist;

	(void)state;
	td_twist_straighten(&twist);
	for (int i = 0; i < 10; i++)
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, INT64_MAX);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	for (int i = 0; i < 10; i++)
		td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, INT64_MAX);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, INT64_MIN);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
}

static void R18_rubbish_in_the_state_overflows_nothing(void **state)
{
	struct dice dice = dice_start(183);

	(void)state;
	for (int i = 0; i < 100000; i++) {
		struct td_twist_rules rules =
			cart(dice_below(&dice, 2) ? TD_TWIST_ESTIMATE : TD_TWIST_SENSOR);
		struct td_twist twist;
		uint8_t way = (uint8_t)dice_below(&dice, 3);
		enum td_twist_side side = (enum td_twist_side)dice_below(&dice, 5);

		if (dice_below(&dice, 3) == 0)
			dice_rubbish(&dice, &rules, sizeof(rules));
		rules.doubt_ppm = 1000000;
		if (dice_below(&dice, 3) == 0) {
			rules.limit_uturn = TD_TWIST_LIMIT_MAX_UTURN;
			rules.steps_per_turn = dice_below(&dice, 2) ? TD_TWIST_STEPS_MAX : -1;
		}
		dice_rubbish(&dice, &twist, sizeof(twist));
		td_twist_contacts(&twist, (uint8_t)dice_bits(&dice));
		td_twist_advance(&twist, &rules, way, side, (td_ns)dice_bits(&dice));
		bool blocked = td_twist_blocks(&twist, &rules, way, side);

		assert_true(blocked == (td_twist_left_ns(&twist, &rules, way, side) == 0));
		assert_true(!blocked || way >= TD_WAYS || side != TD_TWIST_STRAIGHT ||
			    rules.rate_ppm_s[way][side] != 0 || !td_twist_rules_ok(&rules));
		assert_true(td_twist_doubt_uturn(&twist, &rules) >= 0);
		(void)td_twist_net_uturn(&twist, &rules);
	}
}

/* Driving that nobody saw is doubt at the fastest rate there is, whichever way has it. */
static void R18_driving_that_nobody_saw_is_doubt_at_the_fastest_rate(void **state)
{
	(void)state;
	for (uint8_t fast = 0; fast < TD_WAYS; fast++) {
		struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
		struct td_twist twist;

		memset(rules.rate_ppm_s, 0, sizeof(rules.rate_ppm_s));
		rules.rate_ppm_s[fast][TD_TWIST_RIGHT] = -200000;
		rules.rate_ppm_s[1 - fast][TD_TWIST_LEFT] = 100000;
		td_twist_straighten(&twist);
		td_twist_unseen(&twist, &rules, TD_S(3));
		assert_true(twist.unsure_fturn == 200000 * TD_S(3));
		assert_true(twist.net_fturn == 0 && twist.gross_fturn == 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R18_driving_that_nobody_saw_is_doubt_at_the_fastest_rate),
		cmocka_unit_test(R18_one_turn_takes_as_long_as_geometry_says),
		cmocka_unit_test(R18_only_the_way_that_adds_twist_is_blocked),
		cmocka_unit_test(R18_the_deadline_is_when_it_blocks),
		cmocka_unit_test(R18_many_small_steps_and_one_big_one_are_the_same),
		cmocka_unit_test(R18_doubt_about_an_estimate_shrinks_the_limit),
		cmocka_unit_test(R18_driving_straight_is_doubt_too),
		cmocka_unit_test(R18_the_way_back_is_never_blocked),
		cmocka_unit_test(R18_numbers_out_of_range_block_and_tell_nothing),
		cmocka_unit_test(R18_turns_with_unknown_steering_are_doubt),
		cmocka_unit_test(R18_rules_are_held_to_their_bounds),
		cmocka_unit_test(R18_sums_saturate_on_the_cautious_side),
		cmocka_unit_test(R18_rubbish_in_the_state_overflows_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
