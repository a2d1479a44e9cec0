/* SPDX-License-Identifier: MIT */
/* R18: the last number that is allowed and the first that is not, and what each source adds to net and doubt. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/twist.h"

enum { BACK, AHEAD };

/* 4000 turns, where every sum ends. */
#define MOST INT64_C(4000000000000000000)
#define TURN INT64_C(1000000000000000)

/* A tenth of a turn a second to the left while driving ahead with the steering there; two turns of cable. */
static struct td_twist_rules cart(enum td_twist_source source)
{
	return (struct td_twist_rules){
		.source = source,
		.limit_uturn = 2000000,
		.rate_ppm_s = {[AHEAD] = {[TD_TWIST_LEFT] = 100000, [TD_TWIST_RIGHT] = -90000},
			       [BACK] = {[TD_TWIST_LEFT] = -80000, [TD_TWIST_RIGHT] = 70000}},
		.steps_per_turn = 24};
}

static struct td_twist straight(void)
{
	struct td_twist twist;

	memset(&twist, 0x5a, sizeof(twist));
	td_twist_straighten(&twist);
	return twist;
}

/* --- rules ----------------------------------------------------------------------------------------- */

static void R18_rules_at_their_bounds_are_good(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);

	(void)state;
	rules.limit_uturn = 1;
	rules.doubt_ppm = 1000000;
	assert_true(td_twist_rules_ok(&rules));
	rules.limit_uturn = TD_TWIST_LIMIT_MAX_UTURN;
	assert_true(td_twist_rules_ok(&rules));
	for (int sign = -1; sign <= 1; sign += 2) {
		rules.steps_per_turn = sign;
		assert_true(td_twist_rules_ok(&rules));
		rules.steps_per_turn = sign * TD_TWIST_STEPS_MAX;
		assert_true(td_twist_rules_ok(&rules));
		rules.steps_per_turn = sign * (TD_TWIST_STEPS_MAX + 1);
		assert_false(td_twist_rules_ok(&rules));
		rules.source = TD_TWIST_ESTIMATE; /* has no steps */
		assert_true(td_twist_rules_ok(&rules));
		rules.source = TD_TWIST_SENSOR;
	}
}

static void R18_every_rate_is_held_to_its_bounds(void **state)
{
	(void)state;
	for (int way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
			for (int sign = -1; sign <= 1; sign += 2) {
				struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);

				rules.rate_ppm_s[way][side] = sign * TD_TWIST_RATE_MAX_PPM_S;
				assert_true(td_twist_rules_ok(&rules));
				rules.rate_ppm_s[way][side] = sign * (TD_TWIST_RATE_MAX_PPM_S + 1);
				assert_false(td_twist_rules_ok(&rules));
				rules.rate_ppm_s[way][side] = 0;
				rules.rate_ppm_s[way][TD_TWIST_UNKNOWN] =
					sign * (TD_TWIST_RATE_MAX_PPM_S + 1);
				assert_true(td_twist_rules_ok(&rules)); /* not used */
			}
}

static void R18_a_source_that_is_none_blocks(void **state)
{
	struct td_twist_rules rules = cart((enum td_twist_source)(TD_TWIST_UNLIMITED + 1));
	struct td_twist twist = straight();

	(void)state;
	assert_false(td_twist_rules_ok(&rules));
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT) == 0);
	rules = cart(TD_TWIST_ESTIMATE);
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT));
	assert_true(td_twist_blocks(&twist, &rules, TD_WAYS, TD_TWIST_STRAIGHT));
	assert_true(td_twist_blocks(&twist, &rules, TD_NO_WAY, TD_TWIST_STRAIGHT));
}

static void R18_without_a_limit_nothing_is_counted(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_UNLIMITED);
	struct td_twist twist = straight();
	const struct td_twist before = twist;

	(void)state;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(1));
	td_twist_unseen(&twist, &rules, TD_S(1));
	rules = cart(TD_TWIST_ESTIMATE);
	rules.limit_uturn = 0;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, TD_S(1));
	td_twist_unseen(&twist, &rules, TD_S(1));
	rules.limit_uturn = 1;
	td_twist_advance(&twist, &rules, TD_WAYS, TD_TWIST_LEFT, TD_S(1));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, 0);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, -TD_S(1));
	assert_memory_equal(&twist, &before, sizeof(twist));
	twist.net_fturn = TURN;
	twist.unsure_fturn = TURN;
	assert_true(td_twist_net_uturn(&twist, &rules) == 1000000);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1000000);
	rules.source = TD_TWIST_UNLIMITED;
	assert_true(td_twist_net_uturn(&twist, &rules) == 0 && td_twist_doubt_uturn(&twist, &rules) == 0);
	rules = cart(TD_TWIST_ESTIMATE);
	rules.limit_uturn = 0;
	assert_true(td_twist_net_uturn(&twist, &rules) == 0);
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 0);
}

/* --- what a span adds ------------------------------------------------------------------------------ */

static void R18_each_way_and_side_adds_at_its_own_rate(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);

	(void)state;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++) {
			struct td_twist twist = straight();
			int64_t fturn = rules.rate_ppm_s[way][side] * TD_S(3);

			td_twist_advance(&twist, &rules, way, (enum td_twist_side)side, TD_S(3));
			assert_true(twist.net_fturn == fturn);
			assert_true(twist.gross_fturn == (way == AHEAD ? 100000 : 80000) * TD_S(3));
			assert_true(twist.unsure_fturn == 0 && twist.silent_fturn == 0);
		}
}

/* With unknown steering the fastest side counts, whichever it is and whatever its sign. */
static void R18_unknown_steering_counts_as_the_fastest_side(void **state)
{
	static const int32_t rows[][TD_TWIST_SIDES] = {{999999, 1, -5, 3},
						       {999999, -7, 5, 3},
						       {999999, 1, 5, -9},
						       {999999, 8, -5, -3},
						       {999999, 0, 0, 0}};
	static const int32_t most[] = {5, 7, 9, 8, 0};
	static const enum td_twist_side unknown[] = {TD_TWIST_UNKNOWN, TD_TWIST_SIDES,
						     (enum td_twist_side)77};

	(void)state;
	for (size_t i = 0; i < sizeof(most) / sizeof(most[0]); i++)
		for (size_t k = 0; k < sizeof(unknown) / sizeof(unknown[0]); k++) {
			struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
			struct td_twist twist = straight();

			memcpy(rules.rate_ppm_s[AHEAD], rows[i], sizeof(rows[i]));
			td_twist_advance(&twist, &rules, AHEAD, unknown[k], TD_S(2));
			assert_true(twist.unsure_fturn == most[i] * TD_S(2));
			assert_true(twist.net_fturn == 0 && twist.gross_fturn == 0);
		}
}

static void R18_the_sensor_is_waited_for_only_where_the_steering_is_known(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist = straight();

	(void)state;
	td_twist_advance(&twist, &rules, BACK, TD_TWIST_LEFT, TD_S(2));
	assert_true(twist.silent_fturn == 80000 * TD_S(2));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, TD_S(1));
	assert_true(twist.silent_fturn == 80000 * TD_S(2) + 90000 * TD_S(1));
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN, TD_S(1));
	assert_true(twist.silent_fturn == 80000 * TD_S(2) + 90000 * TD_S(1));
	assert_true(twist.net_fturn == 0 && twist.gross_fturn == 0 && twist.unsure_fturn == 0);
}

static void R18_sums_end_at_4000_turns(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist = straight();

	(void)state;
	/* the longest span whose product still fits, and the first that does not */
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, MOST / 100000);
	assert_true(twist.net_fturn == MOST);
	twist = straight();
	rules.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = 3;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, MOST / 3);
	assert_true(twist.net_fturn == MOST / 3 * 3);
	twist = straight();
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, MOST / 3 + 1);
	assert_true(twist.net_fturn == MOST);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, INT64_MAX);
	assert_true(twist.net_fturn == 0 && twist.gross_fturn == MOST);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, INT64_MAX);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, 1);
	assert_true(twist.net_fturn == -MOST);
	twist.net_fturn = INT64_MIN;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, 1);
	assert_true(twist.net_fturn == -MOST + 3);
	twist.net_fturn = INT64_MAX;
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_RIGHT, 1);
	assert_true(twist.net_fturn == MOST - 90000);
}

/* A doubt that cannot be is the largest, one at its end is itself. */
static void R18_a_doubt_that_cannot_be_is_the_largest(void **state)
{
	static const struct {
		int64_t doubt, counts;
	} rows[] = {{-1, MOST}, {INT64_MIN, MOST}, {MOST + 1, MOST}, {0, 0}, {1, 1}, {MOST, MOST}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
		struct td_twist twist = straight();

		twist.unsure_fturn = rows[i].doubt;
		assert_true(td_twist_doubt_uturn(&twist, &rules) ==
			    (rows[i].counts + 999999999) / 1000000000);
		twist = straight();
		rules = cart(TD_TWIST_SENSOR);
		twist.silent_fturn = rows[i].doubt;
		assert_true(td_twist_doubt_uturn(&twist, &rules) ==
			    (rows[i].counts + 999999999) / 1000000000);
	}
}

/* --- the sensor ------------------------------------------------------------------------------------ */

static void R18_counts_end_at_2_to_the_40(void **state)
{
	struct td_twist twist = straight();

	(void)state;
	td_twist_contacts(&twist, 0);
	twist.counts = INT64_C(1) << 40;
	td_twist_contacts(&twist, 1);
	assert_true(twist.counts == INT64_C(1) << 40);
	twist.counts = INT64_MAX;
	td_twist_contacts(&twist, 0);
	assert_true(twist.counts == (INT64_C(1) << 40) - 1);
	twist.counts = INT64_MIN;
	td_twist_contacts(&twist, 2);
	assert_true(twist.counts == -(INT64_C(1) << 40));
	td_twist_contacts(&twist, 0);
	assert_true(twist.counts == -(INT64_C(1) << 40) + 1);
}

static void R18_slips_end_where_they_cannot_be_counted_any_more(void **state)
{
	struct td_twist twist = straight();

	(void)state;
	td_twist_contacts(&twist, 0);
	twist.slips = UINT32_MAX - 1;
	td_twist_contacts(&twist, 3);
	assert_true(twist.slips == UINT32_MAX);
	td_twist_contacts(&twist, 0);
	assert_true(twist.slips == UINT32_MAX);
	assert_true(twist.counts == 0);
}

/* Only a step of the contact that did not make the last one says that the sensor lives. */
static void R18_only_a_count_ends_the_silence(void **state)
{
	static const struct {
		uint8_t levels, changed; /* changed: before */
		bool counts;
	} rows[] = {{0, 1, false}, {3, 2, false}, {1, 2, true}, {2, 1, true}, {1, 1, false}, {2, 0, false}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_twist twist = straight();

		twist.silent_fturn = 5;
		twist.changed = rows[i].changed;
		td_twist_contacts(&twist, 0);
		assert_true(twist.silent_fturn == 5);
		td_twist_contacts(&twist, rows[i].levels);
		assert_true(twist.silent_fturn == (rows[i].counts ? 0 : 5));
		assert_int_equal(twist.contacts, rows[i].levels);
	}
}

static void R18_any_contacts_that_cannot_be_are_a_first_reading(void **state)
{
	(void)state;
	for (int contacts = 0; contacts < 256; contacts++) {
		struct td_twist twist = straight();

		twist.contacts = (uint8_t)contacts;
		td_twist_contacts(&twist, 1);
		assert_int_equal(twist.contacts, 1);
		assert_true(contacts < 4 || (twist.counts == 0 && twist.slips == 0));
	}
}

/* Whole turns and parts of one, both signs, both wirings: to the last digit. */
static void R18_counts_are_turned_into_turns_exactly(void **state)
{
	static const struct {
		int64_t counts;
		int32_t steps;
		int64_t uturn;
	} rows[] = {{0, 24, 0},
		    {1, 24, 41666},
		    {23, 24, 958333},
		    {24, 24, 1000000},
		    {25, 24, 1041666},
		    {-25, 24, -1041666},
		    {25, -24, -1041666},
		    {96000, 24, 4000000000},
		    {96001, 24, 4000000000},
		    {-96024, 24, -4000000000},
		    {INT64_MAX, 1, 4000000000},
		    {INT64_MIN, 1, -4000000000},
		    {3999, 1, 3999000000},
		    {99999, 100000, 999990},
		    {399999999, 100000, 3999999990}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
		struct td_twist twist = straight();

		rules.steps_per_turn = rows[i].steps;
		twist.counts = rows[i].counts;
		assert_true(td_twist_net_uturn(&twist, &rules) == rows[i].uturn);
	}
}

/* Two counts for each slip, whichever way round the contacts are wired; silence and unsure turns beside them. */
static void R18_the_doubt_of_a_sensor_is_a_sum(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist = straight();

	(void)state;
	twist.slips = 12;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1000000);
	rules.steps_per_turn = -24;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1000000);
	twist.silent_fturn = TURN / 2;
	twist.unsure_fturn = TURN / 4;
	twist.gross_fturn = TURN; /* not a sensor's */
	twist.net_fturn = TURN;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1750000);
	assert_true(td_twist_net_uturn(&twist, &rules) == 0);
	twist.slips = UINT32_MAX;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 4000000000);
}

/* One unit of 1e-15 turns takes a nanosecond at the slowest rate there is. */
static void R18_at_the_slowest_rate_every_unit_counts(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_SENSOR);
	struct td_twist twist = straight();

	(void)state;
	rules.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = 1;
	rules.steps_per_turn = 2;
	twist.counts = 1;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 2 * TURN - TURN / 2);
	rules.steps_per_turn = 3;
	twist.counts = 2;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 2 * TURN - 666666666666600);
	rules.source = TD_TWIST_ESTIMATE;
	twist.net_fturn = TURN;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == TURN);
	twist.net_fturn = 0;
	twist.unsure_fturn = 2 * TURN - 1;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 1);
	td_twist_advance(&twist, &rules, AHEAD, TD_TWIST_LEFT, INT64_MAX);
	assert_true(twist.net_fturn == MOST);
}

/* --- the limit ------------------------------------------------------------------------------------- */

static void R18_the_share_of_doubt_is_rounded_up(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist = straight();

	(void)state;
	rules.doubt_ppm = 1;
	twist.gross_fturn = 1;
	twist.silent_fturn = TURN; /* not an estimate's */
	twist.slips = 7;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1);
	twist.gross_fturn = 0;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 0);
	rules.doubt_ppm = 250000;
	twist.gross_fturn = 2 * TURN;
	twist.unsure_fturn = TURN;
	assert_true(td_twist_doubt_uturn(&twist, &rules) == 1500000);
}

static void R18_the_last_unit_before_the_limit_is_free(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist = straight();

	(void)state;
	twist.net_fturn = 2 * TURN - 1;
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, BACK, TD_TWIST_RIGHT));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 1);
	twist.net_fturn++;
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	twist.net_fturn = -2 * TURN + 1;
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	twist.net_fturn--;
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_true(td_twist_blocks(&twist, &rules, BACK, TD_TWIST_LEFT));
	/* the limit less the doubt: nothing of it left, and back is free up to the other side */
	twist.unsure_fturn = 2 * TURN;
	twist.net_fturn = 1;
	assert_true(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_LEFT));
	assert_false(td_twist_blocks(&twist, &rules, AHEAD, TD_TWIST_RIGHT));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_RIGHT) == 1);
	twist.unsure_fturn = 3 * TURN;
	twist.net_fturn = -90000 * TD_S(2);
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 90000 * TD_S(2) / 100000);
}

static void R18_the_time_left_is_rounded_up(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist = straight();

	(void)state;
	twist.net_fturn = 2 * TURN - 100000;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 1);
	twist.net_fturn = 2 * TURN - 100001;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 2);
	/* doubt grows by as much as the turn: half the time, rounded up as well */
	rules.doubt_ppm = 1000000;
	twist.net_fturn = 2 * TURN - 300000;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 2);
	twist.net_fturn = 2 * TURN - 400000;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == 2);
	rules.doubt_ppm = 500000;
	twist.net_fturn = 0;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == (TD_S(40) + 2) / 3);
}

static void R18_unknown_steering_has_the_time_of_the_nearer_side(void **state)
{
	struct td_twist_rules rules = cart(TD_TWIST_ESTIMATE);
	struct td_twist twist = straight();

	(void)state;
	rules.doubt_ppm = 1000000;
	twist.net_fturn = 100000 * TD_S(5);
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN) == TD_S(15));
	twist.net_fturn = -100000 * TD_S(6);
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_UNKNOWN) == TD_S(14));
	rules.source = TD_TWIST_SENSOR;
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_LEFT) == TD_S(20));
	assert_true(td_twist_left_ns(&twist, &rules, AHEAD, TD_TWIST_STRAIGHT) == TD_NEVER);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R18_rules_at_their_bounds_are_good),
		cmocka_unit_test(R18_every_rate_is_held_to_its_bounds),
		cmocka_unit_test(R18_a_source_that_is_none_blocks),
		cmocka_unit_test(R18_without_a_limit_nothing_is_counted),
		cmocka_unit_test(R18_each_way_and_side_adds_at_its_own_rate),
		cmocka_unit_test(R18_unknown_steering_counts_as_the_fastest_side),
		cmocka_unit_test(R18_the_sensor_is_waited_for_only_where_the_steering_is_known),
		cmocka_unit_test(R18_sums_end_at_4000_turns),
		cmocka_unit_test(R18_a_doubt_that_cannot_be_is_the_largest),
		cmocka_unit_test(R18_counts_end_at_2_to_the_40),
		cmocka_unit_test(R18_slips_end_where_they_cannot_be_counted_any_more),
		cmocka_unit_test(R18_only_a_count_ends_the_silence),
		cmocka_unit_test(R18_any_contacts_that_cannot_be_are_a_first_reading),
		cmocka_unit_test(R18_counts_are_turned_into_turns_exactly),
		cmocka_unit_test(R18_the_doubt_of_a_sensor_is_a_sum),
		cmocka_unit_test(R18_at_the_slowest_rate_every_unit_counts),
		cmocka_unit_test(R18_the_share_of_doubt_is_rounded_up),
		cmocka_unit_test(R18_the_last_unit_before_the_limit_is_free),
		cmocka_unit_test(R18_the_time_left_is_rounded_up),
		cmocka_unit_test(R18_unknown_steering_has_the_time_of_the_nearer_side),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
