/* SPDX-License-Identifier: MIT */
/* R18: net turns counted by two contacts in quadrature, and what a sensor that fails does to the limit. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/unit/twist_cart.h"

static void R18_the_sensor_counts_both_ways(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist;
	int place = 0;

	(void)state;
	td_twist_straighten(&twist);
	td_twist_contacts(&twist, 0);
	turn(&twist, &place, 48);
	assert_true(td_twist_net_uturn(&twist, &rules) == 2000000);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	turn(&twist, &place, -1);
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	turn(&twist, &place, -95);
	assert_true(td_twist_net_uturn(&twist, &rules) == -2000000);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 0);
	rules.steps_per_turn = -24; /* wired the other way round */
	assert_true(td_twist_net_uturn(&twist, &rules) == 2000000);
}

static void R18_the_first_reading_counts_nothing(void **state)
{
	struct td_twist twist;

	(void)state;
	for (uint8_t levels = 0; levels < 4; levels++) {
		td_twist_straighten(&twist);
		td_twist_contacts(&twist, levels);
		td_twist_contacts(&twist, levels);
		assert_true(twist.counts == 0 && twist.slips == 0);
	}
}

/* Every pair of readings: one step on, one back, none, or one that cannot be. */
static void R18_every_step_of_the_contacts(void **state)
{
	static const int expected[4][4] = {
		/* from 0: to 0 1 2 3 */ {0, 1, -1, 9}, {-1, 0, 9, 1}, {1, 9, 0, -1}, {9, -1, 1, 0}};

	(void)state;
	for (uint8_t from = 0; from < 4; from++)
		for (uint8_t to = 0; to < 4; to++) {
			struct td_twist twist;

			td_twist_straighten(&twist);
			td_twist_contacts(&twist, from);
			td_twist_contacts(&twist, (uint8_t)(to | 0xfc));
			assert_int_equal(twist.slips, expected[from][to] == 9);
			assert_true(twist.counts == expected[from][to] % 9);
		}
}

static void R18_steps_that_cannot_be_shrink_the_limit(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist;

	(void)state;
	td_twist_straighten(&twist);
	td_twist_contacts(&twist, 0);
	for (uint8_t i = 0; i < 23; i++)
		td_twist_contacts(&twist, i % 2 == 0 ? 3 : 0);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == (46 * 1000000 + 23) / 24);
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	td_twist_contacts(&twist, 0);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
}

/* A sensor that says nothing while the machine must be turning ends up as a blocked machine. */
static void R18_a_silent_sensor_blocks_before_the_limit_can_be_passed(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist;
	int place = 0;

	(void)state;
	td_twist_straighten(&twist);
	td_twist_contacts(&twist, 0);
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == TD_S(20));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(19));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(1));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	turn(&twist, &place, 1);
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT)); /* one contact is no proof */
	turn(&twist, &place, 1);                                            /* it lives */
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
}

/* With one wire broken the other contact counts to and fro, and the sum stays where it is. */
static void R18_a_sensor_with_one_dead_contact_is_silent(void **state)
{
	for (uint8_t alive = 1; alive <= 2; alive++) {
		struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
		struct td_twist twist;
		int seconds = 0;

		td_twist_straighten(&twist);
		td_twist_contacts(&twist, 0);
		for (; !td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT) && seconds < 100; seconds++) {
			td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(1));
			td_twist_contacts(&twist, seconds % 2 == 0 ? alive : 0);
		}
		assert_true(seconds >= 19 && seconds <= 20); /* two turns, less the step that was counted */
	}
	(void)state;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R18_the_sensor_counts_both_ways),
		cmocka_unit_test(R18_the_first_reading_counts_nothing),
		cmocka_unit_test(R18_every_step_of_the_contacts),
		cmocka_unit_test(R18_steps_that_cannot_be_shrink_the_limit),
		cmocka_unit_test(R18_a_silent_sensor_blocks_before_the_limit_can_be_passed),
		cmocka_unit_test(R18_a_sensor_with_one_dead_contact_is_silent),
	};

	return cmocka_run_group_tests_name("twist_sensor", tests, NULL, NULL);
}
