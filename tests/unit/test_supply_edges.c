/* SPDX-License-Identifier: MIT */
/* R13: the last value that is allowed, the first that is not, and what the line of waiting axes remembers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/supply.h"

enum { DRIVE, BOOM, VENT, AXES };

/* Invented: one axis takes all there is to start, two take a part. */
static struct td_supply_rules cart(void)
{
	return (struct td_supply_rules){.axes = AXES,
					.budget_ma = 1000,
					.gap_ns = TD_MS(100),
					.axis = {[DRIVE] = {1000, 500, TD_MS(300)},
						 [BOOM] = {400, 200, TD_MS(200)},
						 [VENT] = {100, 50, TD_MS(200)}}};
}

/* --- rules ----------------------------------------------------------------------------------------- */

static void R13_rules_at_their_bounds_are_good(void **state)
{
	struct td_supply_rules rules = {.axes = 1, .budget_ma = 1, .axis = {{1, 1, 0}}};

	(void)state;
	assert_true(td_supply_rules_ok(&rules));
	rules.axis[0] = (struct td_supply_axis_rules){1, 0, TD_SUPPLY_START_MAX_NS};
	rules.gap_ns = TD_SUPPLY_GAP_MAX_NS;
	assert_true(td_supply_rules_ok(&rules));
	rules.axes = TD_AXES_MAX;
	rules.budget_ma = TD_SUPPLY_WEIGHT_MAX_MA;
	rules.axis[TD_AXES_MAX - 1] = (struct td_supply_axis_rules){TD_SUPPLY_WEIGHT_MAX_MA, 0, 0};
	assert_true(td_supply_rules_ok(&rules));
}

static void no_axes(struct td_supply_rules *rules)
{
	rules->axes = 0;
}

static void too_many_axes(struct td_supply_rules *rules)
{
	rules->axes = TD_AXES_MAX + 1;
}

static void no_budget(struct td_supply_rules *rules)
{
	rules->budget_ma = 0;
	memset(rules->axis, 0, sizeof(rules->axis));
}

static void great_budget(struct td_supply_rules *rules)
{
	rules->budget_ma = TD_SUPPLY_WEIGHT_MAX_MA + 1;
}

static void gap_below(struct td_supply_rules *rules)
{
	rules->gap_ns = -1;
}

static void gap_above(struct td_supply_rules *rules)
{
	rules->gap_ns = TD_SUPPLY_GAP_MAX_NS + 1;
}

static void window_below(struct td_supply_rules *rules)
{
	rules->axis[BOOM].start_ns = -1;
}

static void window_above(struct td_supply_rules *rules)
{
	rules->axis[BOOM].start_ns = TD_SUPPLY_START_MAX_NS + 1;
}

static void lighter_start(struct td_supply_rules *rules)
{
	rules->axis[BOOM].run_ma = rules->axis[BOOM].start_ma + 1;
}

static void heavier_than_all(struct td_supply_rules *rules)
{
	rules->axis[DRIVE].start_ma = rules->budget_ma + 1;
}

static void last_axis_is_bad(struct td_supply_rules *rules)
{
	rules->axis[AXES - 1].start_ns = -1;
}

static void R13_one_number_out_of_bounds_spoils_the_rules(void **state)
{
	static void (*const spoil[])(struct td_supply_rules *) = {
		no_axes,      too_many_axes, no_budget,     great_budget,     gap_below,        gap_above,
		window_below, window_above,  lighter_start, heavier_than_all, last_axis_is_bad,
	};

	(void)state;
	for (size_t i = 0; i < sizeof(spoil) / sizeof(spoil[0]); i++) {
		struct td_supply_rules rules = cart();

		assert_true(td_supply_rules_ok(&rules));
		spoil[i](&rules);
		assert_false(td_supply_rules_ok(&rules));
	}
}

static void R13_what_lies_beyond_the_last_axis_is_not_looked_at(void **state)
{
	struct td_supply_rules rules = cart();

	(void)state;
	rules.axis[AXES].start_ns = -1;
	assert_true(td_supply_rules_ok(&rules));
}

/* --- axes that do not exist ------------------------------------------------------------------------ */

static void R13_axes_that_do_not_exist_change_nothing(void **state)
{
	static const uint8_t none[] = {TD_AXES_MAX, TD_AXES_MAX + 1, UINT8_MAX};
	struct td_supply_rules rules = cart();
	struct td_supply before;

	(void)state;
	td_supply_init(&before);
	td_supply_ask(&before, BOOM, false);
	for (size_t i = 0; i < sizeof(none); i++) {
		/* what follows the state in memory must stay what it is, too */
		struct {
			struct td_supply supply;
			uint8_t behind[512];
		} place;

		memset(&place, 0x5a, sizeof(place));
		place.supply = before;
		rules.axes = UINT8_MAX;
		assert_int_equal(td_supply_answer(&place.supply, &rules, none[i], 0), TD_SUPPLY_NOT_ASKED);
		td_supply_ask(&place.supply, none[i], true);
		td_supply_started(&place.supply, &rules, none[i], TD_S(1));
		td_supply_stopped(&place.supply, none[i]);
		assert_memory_equal(&place.supply, &before, sizeof(before));
		for (size_t k = 0; k < sizeof(place.behind); k++)
			assert_int_equal(place.behind[k], 0x5a);
	}
}

static void R13_an_axis_beyond_the_rules_is_not_answered(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_ask(&supply, AXES, false);
	assert_int_equal(td_supply_answer(&supply, &rules, AXES, 0), TD_SUPPLY_NOT_ASKED);
	rules.axes = AXES + 1;
	assert_int_equal(td_supply_answer(&supply, &rules, AXES, 0), TD_SUPPLY_START);
}

static void R13_the_last_axis_there_can_be_is_one_like_the_others(void **state)
{
	enum { LAST = TD_AXES_MAX - 1 };
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	rules.axes = TD_AXES_MAX;
	rules.axis[LAST] = rules.axis[DRIVE];
	td_supply_init(&supply);
	assert_int_equal(supply.axis[LAST].state, TD_SUPPLY_OFF);
	td_supply_ask(&supply, LAST, false);
	assert_int_equal(td_supply_answer(&supply, &rules, LAST, 0), TD_SUPPLY_START);
	assert_true(td_supply_deadline(&supply, &rules, 0) == TD_NEVER);
	td_supply_ask(&supply, BOOM, false);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, 0), TD_SUPPLY_WAIT_LINE);
	td_supply_started(&supply, &rules, LAST, 0);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 1000);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, 0), TD_SUPPLY_WAIT_LOAD);
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(100)) == TD_MS(300));
	td_supply_stopped(&supply, LAST);
	assert_int_equal(supply.axis[LAST].state, TD_SUPPLY_OFF);
}

/* --- the line -------------------------------------------------------------------------------------- */

static void R13_asking_again_keeps_the_place_and_may_only_make_a_reversal_of_it(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;
	struct td_supply before;

	(void)state;
	td_supply_init(&supply);
	td_supply_ask(&supply, BOOM, true);
	td_supply_ask(&supply, VENT, false);
	assert_true(supply.axis[BOOM].ticket == 0 && supply.axis[VENT].ticket == 1);
	assert_true(supply.tickets == 2);
	assert_int_equal(supply.axis[BOOM].reversal, 1);
	before = supply;
	td_supply_ask(&supply, BOOM, false);
	td_supply_ask(&supply, VENT, false);
	assert_memory_equal(&supply, &before, sizeof(supply));
	td_supply_ask(&supply, VENT, true);
	before.axis[VENT].reversal = 1;
	assert_memory_equal(&supply, &before, sizeof(supply));
	td_supply_started(&supply, &rules, BOOM, TD_S(1));
	before = supply;
	td_supply_ask(&supply, BOOM, true);
	assert_memory_equal(&supply, &before, sizeof(supply));
}

static void R13_the_last_ticket_is_given_out_for_ever(void **state)
{
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	supply.tickets = UINT64_MAX - 1;
	td_supply_ask(&supply, DRIVE, false);
	td_supply_ask(&supply, BOOM, false);
	td_supply_ask(&supply, VENT, false);
	assert_true(supply.axis[DRIVE].ticket == UINT64_MAX - 1);
	assert_true(supply.axis[BOOM].ticket == UINT64_MAX && supply.axis[VENT].ticket == UINT64_MAX);
	assert_true(supply.tickets == UINT64_MAX);
}

/* Those who asked before are overtaken, those who asked later or do not wait are not; the count stays at its end. */
static void R13_only_who_waits_longer_is_overtaken(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_ask(&supply, DRIVE, false);
	td_supply_ask(&supply, BOOM, false);
	td_supply_ask(&supply, VENT, false);
	td_supply_started(&supply, &rules, BOOM, 0);
	assert_int_equal(supply.axis[DRIVE].overtaken, 1);
	assert_int_equal(supply.axis[BOOM].overtaken, 0);
	assert_int_equal(supply.axis[VENT].overtaken, 0);
	supply.axis[DRIVE].overtaken = UINT8_MAX - 1;
	td_supply_stopped(&supply, BOOM);
	td_supply_started(&supply, &rules, VENT, 0);
	assert_int_equal(supply.axis[DRIVE].overtaken, UINT8_MAX);
	td_supply_stopped(&supply, VENT);
	td_supply_ask(&supply, VENT, false);
	td_supply_started(&supply, &rules, VENT, 0);
	assert_int_equal(supply.axis[DRIVE].overtaken, UINT8_MAX);
}

/* One that was powered without having asked is nobody's turn. */
static void R13_a_start_out_of_line_overtakes_nobody(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_ask(&supply, DRIVE, false);
	supply.axis[BOOM].ticket = UINT64_MAX;
	td_supply_started(&supply, &rules, BOOM, TD_S(1));
	assert_int_equal(supply.axis[DRIVE].overtaken, 0);
	assert_int_equal(supply.axis[BOOM].state, TD_SUPPLY_POWERED);
	assert_true(supply.axis[BOOM].since_ns == TD_S(1));
}

static void R13_overtaken_often_enough_makes_others_wait_though_it_does_not_fit(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, BOOM, 0);
	td_supply_ask(&supply, DRIVE, false);
	td_supply_ask(&supply, VENT, false);
	supply.axis[DRIVE].overtaken = TD_SUPPLY_OVERTAKEN_MAX - 1;
	assert_int_equal(td_supply_answer(&supply, &rules, VENT, TD_S(1)), TD_SUPPLY_START);
	supply.axis[DRIVE].overtaken = TD_SUPPLY_OVERTAKEN_MAX;
	assert_int_equal(td_supply_answer(&supply, &rules, VENT, TD_S(1)), TD_SUPPLY_WAIT_LINE);
	/* an axis without weight makes nobody wait, however long it has waited */
	rules.axis[DRIVE] = (struct td_supply_axis_rules){0, 0, 0};
	assert_int_equal(td_supply_answer(&supply, &rules, VENT, TD_S(1)), TD_SUPPLY_START);
}

/* --- weights --------------------------------------------------------------------------------------- */

static void R13_a_sum_that_is_just_the_budget_fits(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	rules.axis[VENT].start_ma = 800;
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, BOOM, 0);
	td_supply_ask(&supply, VENT, false);
	assert_int_equal(td_supply_answer(&supply, &rules, VENT, TD_S(1)), TD_SUPPLY_START);
	rules.axis[VENT].start_ma = 801;
	assert_int_equal(td_supply_answer(&supply, &rules, VENT, TD_S(1)), TD_SUPPLY_WAIT_LOAD);
}

static void R13_a_reversal_weighs_twice_up_to_the_budget(void **state)
{
	static const struct {
		uint32_t start_ma, weighs_ma;
	} rows[] = {{400, 800}, {499, 998}, {500, 1000}, {501, 1000}, {1000, 1000}, {1001, 1001}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_supply_rules rules = cart();
		struct td_supply supply;

		rules.axis[BOOM].start_ma = rows[i].start_ma;
		td_supply_init(&supply);
		td_supply_ask(&supply, BOOM, true);
		td_supply_started(&supply, &rules, BOOM, 0);
		assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), rows[i].weighs_ma);
	}
}

static void R13_a_start_without_weight_still_has_the_weight_of_its_run(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	rules.axis[BOOM] = (struct td_supply_axis_rules){0, 200, TD_MS(200)};
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, VENT, 0);
	td_supply_ask(&supply, BOOM, false);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, 0), TD_SUPPLY_WAIT_GAP);
	rules.axis[BOOM].run_ma = 0;
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, 0), TD_SUPPLY_START);
}

static void R13_a_weight_beyond_32_bits_is_the_most_there_is(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	rules.axis[DRIVE] = (struct td_supply_axis_rules){UINT32_MAX - 1, UINT32_MAX - 1, 0};
	rules.axis[BOOM] = (struct td_supply_axis_rules){1, 1, 0};
	rules.axis[VENT] = (struct td_supply_axis_rules){1, 1, 0};
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, DRIVE, 0);
	assert_true(td_supply_drawn_ma(&supply, &rules, TD_S(1)) == UINT32_MAX - 1);
	td_supply_started(&supply, &rules, BOOM, 0);
	assert_true(td_supply_drawn_ma(&supply, &rules, TD_S(1)) == UINT32_MAX);
	td_supply_started(&supply, &rules, VENT, 0);
	assert_true(td_supply_drawn_ma(&supply, &rules, TD_S(1)) == UINT32_MAX);
}

static void R13_a_state_that_cannot_be_counts_as_starting(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	supply.axis[BOOM].state = TD_SUPPLY_IN_LINE + 1;
	supply.axis[VENT].state = UINT8_MAX;
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 400 + 100);
	memset(&supply, 0, sizeof(supply));
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 1000 + 400 + 100);
}

/* --- times ----------------------------------------------------------------------------------------- */

static void R13_a_gap_is_over_in_its_last_nanosecond(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, VENT, TD_S(1));
	td_supply_ask(&supply, BOOM, false);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, TD_MS(1100) - 1), TD_SUPPLY_WAIT_GAP);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, TD_MS(1100)), TD_SUPPLY_START);
}

/* A gap that is running never becomes shorter by a start with a shorter one. */
static void R13_a_later_start_never_shortens_the_gap(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	supply.axis[BOOM].reversal = 1;
	td_supply_started(&supply, &rules, BOOM, TD_S(1));
	assert_true(supply.next_start_ns == TD_MS(1200));
	td_supply_started(&supply, &rules, VENT, TD_MS(1050));
	assert_true(supply.next_start_ns == TD_MS(1200));
	td_supply_started(&supply, &rules, VENT, TD_MS(1150));
	assert_true(supply.next_start_ns == TD_MS(1250));
	rules.gap_ns = -TD_S(5); /* cannot be: counts as none */
	td_supply_started(&supply, &rules, VENT, TD_S(2));
	assert_true(supply.next_start_ns == TD_S(2));
}

static void R13_the_deadline_is_the_first_of_gap_and_windows(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_started(&supply, &rules, VENT, 0);                     /* window until 200, gap until 100 */
	td_supply_started(&supply, &rules, BOOM, TD_MS(50));             /* window until 250, gap until 150 */
	assert_true(td_supply_deadline(&supply, &rules, 0) == TD_NEVER); /* nobody waits */
	td_supply_ask(&supply, DRIVE, false);
	assert_true(td_supply_deadline(&supply, &rules, 0) == TD_MS(150));
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(150) - 1) == TD_MS(150));
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(150)) == TD_MS(200));
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(200)) == TD_MS(250));
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(250) - 1) == TD_MS(250));
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(250)) == TD_NEVER);
	td_supply_stopped(&supply, VENT);
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(160)) == TD_MS(250));
	td_supply_stopped(&supply, DRIVE);
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(160)) == TD_NEVER);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R13_rules_at_their_bounds_are_good),
		cmocka_unit_test(R13_one_number_out_of_bounds_spoils_the_rules),
		cmocka_unit_test(R13_what_lies_beyond_the_last_axis_is_not_looked_at),
		cmocka_unit_test(R13_axes_that_do_not_exist_change_nothing),
		cmocka_unit_test(R13_an_axis_beyond_the_rules_is_not_answered),
		cmocka_unit_test(R13_the_last_axis_there_can_be_is_one_like_the_others),
		cmocka_unit_test(R13_asking_again_keeps_the_place_and_may_only_make_a_reversal_of_it),
		cmocka_unit_test(R13_the_last_ticket_is_given_out_for_ever),
		cmocka_unit_test(R13_only_who_waits_longer_is_overtaken),
		cmocka_unit_test(R13_a_start_out_of_line_overtakes_nobody),
		cmocka_unit_test(R13_overtaken_often_enough_makes_others_wait_though_it_does_not_fit),
		cmocka_unit_test(R13_a_sum_that_is_just_the_budget_fits),
		cmocka_unit_test(R13_a_reversal_weighs_twice_up_to_the_budget),
		cmocka_unit_test(R13_a_start_without_weight_still_has_the_weight_of_its_run),
		cmocka_unit_test(R13_a_weight_beyond_32_bits_is_the_most_there_is),
		cmocka_unit_test(R13_a_state_that_cannot_be_counts_as_starting),
		cmocka_unit_test(R13_a_gap_is_over_in_its_last_nanosecond),
		cmocka_unit_test(R13_a_later_start_never_shortens_the_gap),
		cmocka_unit_test(R13_the_deadline_is_the_first_of_gap_and_windows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
