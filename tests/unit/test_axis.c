/* SPDX-License-Identifier: MIT */
/* The table of the axis: total, and nothing but RUN is powered. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/axis.h"
#include "tests/support/rule_cart.h"

static struct td_axis axis_in(enum td_axis_state state)
{
	struct td_axis axis;

	td_axis_init(&axis, TD_S(1));
	axis.state = state;
	axis.way = state == TD_AXIS_RUN || state == TD_AXIS_WAIT ? 1 : TD_NO_WAY;
	axis.trip = state == TD_AXIS_TRIPPED ? TD_CAUSE_BOTH_ENDS : TD_CAUSE_NONE;
	return axis;
}

static enum td_axis_action apply(struct td_axis *axis, enum td_axis_event event)
{
	struct td_rules rules = rule_cart();
	const struct td_axis_input input = {.event = event,
					    .now_ns = TD_S(2),
					    .way = 0,
					    .hold = {1, 1, 0, TD_S(3)},
					    .cause = TD_CAUSE_TRAVEL_LIMIT};

	return td_axis_apply(axis, &rules.axis[RULE_BOOM], &input);
}

static void r1_only_go_from_wait_powers(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++) {
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in((enum td_axis_state)s);
			uint32_t before = td_axis_outputs(&axis);

			apply(&axis, (enum td_axis_event)e);
			bool powers = td_axis_outputs(&axis) != 0 && before == 0;

			assert_int_equal(powers, s == TD_AXIS_WAIT && e == TD_AXIS_GO);
		}
	}
}

static void r1_no_state_has_both_inputs_high(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < 300; s++) {
		for (unsigned int way = 0; way < 256; way++) {
			struct td_axis axis = axis_in(TD_AXIS_STILL);

			axis.state = (enum td_axis_state)s;
			axis.way = (uint8_t)way;
			uint32_t outputs = td_axis_outputs(&axis);

			assert_true(outputs == 0 || outputs == 1 || outputs == 2);
			assert_true(outputs == 0 || s == TD_AXIS_RUN);
		}
	}
}

static void every_impossible_combination_ends_off_and_tripped(void **state)
{
	static const struct {
		unsigned int state;
		unsigned int event;
	} impossible[] = {
		{TD_AXIS_STILL, TD_AXIS_GO},   {TD_AXIS_COAST, TD_AXIS_GO}, {TD_AXIS_RUN, TD_AXIS_GO},
		{TD_AXIS_TRIPPED, TD_AXIS_GO}, {77, TD_AXIS_ASK},           {TD_AXIS_RUN, 77},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(impossible) / sizeof(impossible[0]); i++) {
		struct td_axis axis = axis_in(TD_AXIS_STILL);

		axis.state = (enum td_axis_state)impossible[i].state;
		axis.way = axis.state == TD_AXIS_RUN ? 1 : TD_NO_WAY;
		assert_int_equal(apply(&axis, (enum td_axis_event)impossible[i].event), TD_DO_FAIL);
		assert_int_equal(axis.state, TD_AXIS_TRIPPED);
		assert_int_equal(axis.trip, TD_CAUSE_INTERNAL);
		assert_int_equal(td_axis_outputs(&axis), 0);
	}
}

static void a_running_axis_with_an_impossible_way_is_off(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_RUN);

	(void)state;
	axis.way = 2;
	assert_int_equal(td_axis_outputs(&axis), 0);
	assert_int_equal(apply(&axis, TD_AXIS_CUT), TD_DO_FAIL);
	assert_int_equal(axis.state, TD_AXIS_TRIPPED);
}

static void an_ask_for_an_impossible_way_is_off(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_axis axis = axis_in(TD_AXIS_STILL);
	const struct td_axis_input input = {.event = TD_AXIS_ASK, .now_ns = TD_S(2), .way = 2};

	(void)state;
	assert_int_equal(td_axis_apply(&axis, &rules.axis[RULE_BOOM], &input), TD_DO_FAIL);
	assert_int_equal(axis.state, TD_AXIS_TRIPPED);
}

static void a_trip_without_a_cause_is_internal(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_axis axis = axis_in(TD_AXIS_RUN);
	const struct td_axis_input input = {.event = TD_AXIS_TRIP, .now_ns = TD_S(2)};

	(void)state;
	td_axis_apply(&axis, &rules.axis[RULE_BOOM], &input);
	assert_int_equal(axis.trip, TD_CAUSE_INTERNAL);
}

static void zero_bytes_are_a_tripped_axis_that_is_off(void **state)
{
	struct td_axis axis;

	(void)state;
	memset(&axis, 0, sizeof(axis));
	assert_int_equal(axis.state, TD_AXIS_TRIPPED);
	assert_int_equal(td_axis_outputs(&axis), 0);
}

/* A write that nothing was cut for, and one before the axis ever went anywhere. */
static void r3_the_write_counts_for_the_way_that_was_cut(void **state)
{
	struct td_axis axis;
	struct td_axis before;

	(void)state;
	td_axis_init(&axis, TD_S(1));
	axis.unwritten = false;
	before = axis;
	td_axis_written(&axis, TD_S(2));
	assert_memory_equal(&axis, &before, sizeof(axis));
	axis.unwritten = true;
	axis.last_way = TD_NO_WAY;
	td_axis_written(&axis, TD_S(3));
	assert_true(axis.cut_ns == TD_S(3));
	assert_true(axis.way_cut_ns[0] == before.way_cut_ns[0] && axis.way_cut_ns[1] == before.way_cut_ns[1]);
	axis.unwritten = true;
	axis.last_way = 1;
	td_axis_written(&axis, TD_S(4));
	assert_true(axis.way_cut_ns[0] == before.way_cut_ns[0] && axis.way_cut_ns[1] == TD_S(4));
	assert_false(axis.unwritten);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r1_only_go_from_wait_powers),
		cmocka_unit_test(r1_no_state_has_both_inputs_high),
		cmocka_unit_test(every_impossible_combination_ends_off_and_tripped),
		cmocka_unit_test(a_running_axis_with_an_impossible_way_is_off),
		cmocka_unit_test(an_ask_for_an_impossible_way_is_off),
		cmocka_unit_test(a_trip_without_a_cause_is_internal),
		cmocka_unit_test(r3_the_write_counts_for_the_way_that_was_cut),
		cmocka_unit_test(zero_bytes_are_a_tripped_axis_that_is_off),
	};

	return cmocka_run_group_tests_name("axis", tests, NULL, NULL);
}
