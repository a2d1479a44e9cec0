/* SPDX-License-Identifier: MIT */
/* What an axis has done in its life, and what a record takes of every axis there can be. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/record.h"
#include "core/wear.h"
#include "tests/support/rule_cart.h"

static void each_way_has_its_own_hours_and_starts(void **state)
{
	struct td_wear wear = {.powered_ns = {0, 0}};

	(void)state;
	td_wear_power(&wear, 1, TD_S(1));
	assert_true(td_wear_powered_ns(&wear, 1, TD_S(4)) == TD_S(3));
	assert_true(td_wear_powered_ns(&wear, 0, TD_S(4)) == 0);
	td_wear_power(&wear, 1, TD_S(2)); /* goes on */
	assert_int_equal(wear.starts[1], 1);
	td_wear_power(&wear, 0, TD_S(5)); /* the other way at once */
	td_wear_power(&wear, TD_NO_WAY, TD_S(7));
	td_wear_power(&wear, TD_WAYS, TD_S(8)); /* still off */
	assert_int_equal(wear.running, 0);
	assert_true(wear.powered_ns[1] == TD_S(4) && wear.powered_ns[0] == TD_S(2));
	assert_true(td_wear_powered_ns(&wear, 1, TD_S(99)) == TD_S(4));
	assert_int_equal(wear.starts[0], 1);
	assert_int_equal(wear.starts[1], 1);
	assert_true(td_wear_powered_ns(&wear, TD_WAYS, TD_S(9)) == 0);
	assert_true(td_wear_powered_ns(&wear, TD_NO_WAY, TD_S(9)) == 0);
}

static void hours_and_starts_end_where_their_numbers_do(void **state)
{
	struct td_wear wear = {.powered_ns = {TD_NEVER - 1, 0}, .starts = {UINT32_MAX - 1, UINT32_MAX}};

	(void)state;
	td_wear_power(&wear, 0, TD_S(1));
	assert_true(wear.starts[0] == UINT32_MAX);
	assert_true(td_wear_powered_ns(&wear, 0, TD_S(2)) == TD_NEVER);
	td_wear_power(&wear, TD_NO_WAY, TD_S(2));
	assert_true(wear.powered_ns[0] == TD_NEVER);
	td_wear_power(&wear, 0, TD_S(3));
	td_wear_power(&wear, 1, TD_S(4));
	assert_true(wear.starts[0] == UINT32_MAX && wear.starts[1] == UINT32_MAX);
	assert_true(wear.powered_ns[0] == TD_NEVER);
}

/* More axes than there can be count as the most there can be; axes beyond the rules are left as they begin. */
static void R12_a_record_has_every_axis_of_the_rules(void **state)
{
	static const uint8_t counts[] = {UINT8_MAX, TD_AXES_MAX, RULE_AXES};
	static struct td_core core;
	static struct td_core again;
	static struct td_keep keep;

	(void)state;
	for (size_t i = 0; i < sizeof(counts); i++) {
		struct td_rules rules = rule_cart();

		for (int axis = RULE_AXES; axis < TD_AXES_MAX; axis++)
			rules.axis[axis].duty = td_rules_any_duty();
		td_core_init(&core, &rules, 0);
		td_core_init(&again, &rules, 0);
		for (uint32_t axis = 0; axis < TD_AXES_MAX; axis++) {
			core.wear[axis].starts[1] = axis + 1;
			core.duty[axis].theta = axis + 1;
		}
		rules.axes = counts[i];
		td_record_take(&core, &rules, true, 0, &keep);
		td_record_restore(&again, &rules, &keep, 0);
		for (uint32_t axis = 0; axis < TD_AXES_MAX; axis++) {
			bool kept = axis < counts[i];

			assert_int_equal(keep.axis[axis].starts[1], kept ? axis + 1 : 0);
			assert_true(keep.axis[axis].duty.theta == (kept ? axis + 1 : 0));
			assert_int_equal(again.wear[axis].starts[1], kept ? axis + 1 : 0);
			assert_true(again.duty[axis].theta == (kept ? axis + 1 : 0));
		}
	}
}

static void R12_the_keeper_vouches_for_one_axis_or_all(void **state)
{
	static struct td_core core;
	static struct td_result result;
	const struct td_rules rules = rule_cart();

	(void)state;
	for (uint8_t which = 0; which <= RULE_AXES; which++) {
		bool all = which == RULE_AXES;
		const struct td_event cooled = {.kind = TD_EVENT_COOLED,
						.at_ns = TD_S(10),
						.axis = all ? (uint8_t)TD_ALL_AXES : which,
						.role = TD_ROLE_KEEPER};

		td_core_init(&core, &rules, 0);
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			core.duty[axis].theta = 1000;
		td_core_step(&core, &rules, &cooled, &result);
		assert_int_equal(result.answer, TD_CAUSE_COOLED);
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			assert_int_equal(core.duty[axis].theta == 0,
					 axis < RULE_AXES && (all || axis == which));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_way_has_its_own_hours_and_starts),
		cmocka_unit_test(hours_and_starts_end_where_their_numbers_do),
		cmocka_unit_test(R12_a_record_has_every_axis_of_the_rules),
		cmocka_unit_test(R12_the_keeper_vouches_for_one_axis_or_all),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
