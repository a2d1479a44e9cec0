/* SPDX-License-Identifier: MIT */
/* What every event does to an axis in every state: the next state, and every field it may change. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/axis.h"
#include "tests/support/rule_cart.h"

enum { T = TD_AXIS_TRIPPED, S = TD_AXIS_STILL, C = TD_AXIS_COAST, W = TD_AXIS_WAIT, R = TD_AXIS_RUN };

static const struct td_hold old_hold = {7, 70, 3, TD_MS(9000)};
static const struct td_hold new_hold = {8, 80, 0, TD_MS(8000)};

static struct td_axis axis_in(unsigned int state)
{
	return (struct td_axis){
		.state = (enum td_axis_state)state,
		.trip = state == T ? TD_CAUSE_BOTH_ENDS : TD_CAUSE_NONE,
		.way = state == R || state == W ? 1 : TD_NO_WAY,
		.last_way = 0,
		.located = true,
		.since_ns = TD_MS(1500),
		.cut_ns = TD_MS(1000),
		.spent_ns = {TD_MS(400), TD_MS(100)},
		.hold = old_hold,
	};
}

static enum td_axis_action apply(struct td_axis *axis, unsigned int event)
{
	struct td_rules rules = rule_cart();
	const struct td_axis_input input = {.event = (enum td_axis_event)event,
					    .now_ns = TD_MS(2000),
					    .way = 0,
					    .hold = new_hold,
					    .cause = TD_CAUSE_TRAVEL_LIMIT};

	return td_axis_apply(axis, &rules.axis[RULE_BOOM], &input);
}

/* Columns: ASK, GO, REST_OVER, CUT, TRIP, RESET. */
static void r1_r3_r11_every_event_leads_where_the_rules_say(void **state)
{
	static const enum td_axis_action actions[TD_AXIS_STATES][TD_AXIS_EVENTS] = {
		[T] = {TD_DO_NOTHING, TD_DO_FAIL, TD_DO_NOTHING, TD_DO_NOTHING, TD_DO_NOTHING, TD_DO_CLEAR},
		[S] = {TD_DO_QUEUE, TD_DO_FAIL, TD_DO_NOTHING, TD_DO_NOTHING, TD_DO_TRIP, TD_DO_NOTHING},
		[C] = {TD_DO_QUEUE, TD_DO_FAIL, TD_DO_NOTHING, TD_DO_NOTHING, TD_DO_TRIP, TD_DO_NOTHING},
		[W] = {TD_DO_QUEUE, TD_DO_POWER, TD_DO_NOTHING, TD_DO_DROP, TD_DO_TRIP, TD_DO_NOTHING},
		[R] = {TD_DO_TURN, TD_DO_FAIL, TD_DO_NOTHING, TD_DO_CUT, TD_DO_TRIP, TD_DO_NOTHING},
	};
	static const unsigned char next[TD_AXIS_STATES][TD_AXIS_EVENTS] = {
		[T] = {T, T, T, T, T, C}, [S] = {W, T, S, S, T, S}, [C] = {W, T, S, C, T, C},
		[W] = {W, R, W, C, T, W}, [R] = {W, T, R, C, T, R},
	};

	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);

			assert_int_equal(apply(&axis, e), actions[s][e]);
			assert_int_equal(axis.state, next[s][e]);
		}
}

static void the_first_state_and_event_that_do_not_exist_are_a_failure(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_STATES);

	(void)state;
	assert_int_equal(apply(&axis, TD_AXIS_CUT), TD_DO_FAIL);
	assert_int_equal(axis.state, TD_AXIS_TRIPPED);
	axis = axis_in(TD_AXIS_STILL);
	assert_int_equal(apply(&axis, TD_AXIS_EVENTS), TD_DO_FAIL);
	assert_int_equal(axis.state, TD_AXIS_TRIPPED);
}

/* The boom: 2000 ms up are worth 1600 ms down, so 500 ms of running up give 400 ms back. */
static void assert_cut_now(const struct td_axis *axis)
{
	assert_int_equal(axis->cut_ns, TD_MS(2000));
	assert_int_equal(axis->last_way, 1);
	assert_true(axis->unwritten);
	assert_int_equal(axis->spent_ns[1], TD_MS(600));
	assert_int_equal(axis->spent_ns[0], 0);
}

static void assert_not_cut(const struct td_axis *axis)
{
	assert_int_equal(axis->cut_ns, TD_MS(1000));
	assert_int_equal(axis->last_way, 0);
	assert_false(axis->unwritten);
	assert_int_equal(axis->spent_ns[1], TD_MS(100));
	assert_int_equal(axis->spent_ns[0], TD_MS(400));
}

static void r3_power_is_cut_and_counted_when_the_axis_ran_and_only_then(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);

			apply(&axis, e);
			if (s == R && axis.state != TD_AXIS_RUN)
				assert_cut_now(&axis);
			else
				assert_not_cut(&axis);
		}
}

static void assert_hold(const struct td_hold *hold, const struct td_hold *expected, td_ns lease_end_ns)
{
	assert_int_equal(hold->session, expected->session);
	assert_int_equal(hold->number, expected->number);
	assert_int_equal(hold->seq, expected->seq);
	assert_int_equal(hold->lease_end_ns, lease_end_ns);
}

static void r7_the_hold_is_the_new_one_or_over_or_as_it_was(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);
			enum td_axis_action action = apply(&axis, e);
			bool taken = action == TD_DO_QUEUE || action == TD_DO_TURN;
			bool kept = action == TD_DO_NOTHING || action == TD_DO_POWER || action == TD_DO_CLEAR;

			if (taken)
				assert_hold(&axis.hold, &new_hold, new_hold.lease_end_ns);
			else
				assert_hold(&axis.hold, &old_hold, kept ? old_hold.lease_end_ns : 0);
		}
}

static void a_way_is_named_only_while_it_is_held(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);
			enum td_axis_action action = apply(&axis, e);
			uint8_t held = action == TD_DO_QUEUE || action == TD_DO_TURN ? 0 : 1;

			if (axis.state != TD_AXIS_RUN && axis.state != TD_AXIS_WAIT)
				held = TD_NO_WAY;
			assert_int_equal(axis.way, held);
		}
}

static void power_counts_from_its_start(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);
			enum td_axis_action action = apply(&axis, e);

			assert_int_equal(axis.since_ns, action == TD_DO_POWER ? TD_MS(2000) : TD_MS(1500));
		}
}

static void r11_the_first_cause_of_a_trip_stays_until_the_reset(void **state)
{
	(void)state;
	for (unsigned int s = 0; s < TD_AXIS_STATES; s++)
		for (unsigned int e = 0; e < TD_AXIS_EVENTS; e++) {
			struct td_axis axis = axis_in(s);
			enum td_cause expected = TD_CAUSE_NONE;

			apply(&axis, e);
			if (s == T && e != TD_AXIS_RESET)
				expected = TD_CAUSE_BOTH_ENDS;
			else if (e == TD_AXIS_TRIP)
				expected = TD_CAUSE_TRAVEL_LIMIT;
			else if (axis.state == TD_AXIS_TRIPPED)
				expected = TD_CAUSE_INTERNAL;
			assert_int_equal(axis.trip, expected);
		}
}

static void a_start_is_off_and_counts_as_a_cut_in_an_unknown_way(void **state)
{
	struct td_axis axis;

	(void)state;
	memset(&axis, 0xff, sizeof(axis));
	td_axis_init(&axis, TD_MS(3));
	assert_int_equal(axis.state, TD_AXIS_COAST);
	assert_int_equal(axis.trip, TD_CAUSE_NONE);
	assert_int_equal(axis.way, TD_NO_WAY);
	assert_int_equal(axis.last_way, TD_NO_WAY);
	assert_int_equal(axis.cut_ns, TD_MS(3));
	assert_int_equal(axis.since_ns, 0);
	assert_int_equal(axis.spent_ns[0] + axis.spent_ns[1], 0);
	assert_int_equal(axis.hold.session, 0);
	assert_false(axis.located || axis.unwritten);
}

/* Dead 250 ms, rest 200 ms: the longer one where the last way is not known. */
static void r3_the_pause_depends_on_the_last_way(void **state)
{
	static const struct {
		int dead_ms, rest_ms;
		uint8_t last_way, way;
		int pause_ms;
	} rows[] = {
		{250, 200, 0, 0, 200},         {250, 200, 0, 1, 250},         {250, 200, 1, 0, 250},
		{250, 200, 1, 1, 200},         {250, 200, TD_NO_WAY, 0, 250}, {200, 250, TD_NO_WAY, 0, 250},
		{200, 250, TD_NO_WAY, 1, 250}, {200, 250, 2, 1, 250},         {200, 250, 0, 1, 200},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		const struct td_axis axis = {.last_way = rows[i].last_way, .cut_ns = TD_MS(1000)};
		const struct td_axis_rules rules = {.dead_ns = TD_MS(rows[i].dead_ms),
						    .rest_ns = TD_MS(rows[i].rest_ms)};

		assert_int_equal(td_axis_earliest(&axis, &rules, rows[i].way),
				 TD_MS(1000) + TD_MS(rows[i].pause_ms));
	}
}

static void r3_a_way_that_does_not_exist_has_the_pause_of_the_last_cut(void **state)
{
	const struct td_axis axis = {.last_way = 1, .cut_ns = TD_MS(1000)};
	const struct td_axis_rules rules = {.dead_ns = TD_MS(250), .rest_ns = TD_MS(200)};

	(void)state;
	assert_int_equal(td_axis_earliest(&axis, &rules, TD_WAYS), TD_MS(1250));
	assert_int_equal(td_axis_earliest(&axis, &rules, TD_NO_WAY), TD_MS(1250));
}

static void r17_an_axis_moves_until_its_rest_is_over(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_axis axis = axis_in(TD_AXIS_STILL);

	(void)state;
	assert_true(td_axis_moving(&axis, &rules.axis[RULE_BOOM], TD_MS(1200) - 1));
	assert_false(td_axis_moving(&axis, &rules.axis[RULE_BOOM], TD_MS(1200)));
	axis.state = TD_AXIS_RUN;
	assert_true(td_axis_moving(&axis, &rules.axis[RULE_BOOM], TD_MS(1200)));
}

static void r3_a_write_moves_the_cut_once_and_never_back(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_COAST);

	(void)state;
	td_axis_written(&axis, TD_MS(1100));
	assert_int_equal(axis.cut_ns, TD_MS(1000));
	axis.unwritten = true;
	td_axis_written(&axis, TD_MS(900));
	assert_int_equal(axis.cut_ns, TD_MS(1000));
	assert_false(axis.unwritten);
	axis.unwritten = true;
	td_axis_written(&axis, TD_MS(1100));
	assert_int_equal(axis.cut_ns, TD_MS(1100));
	assert_false(axis.unwritten);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r1_r3_r11_every_event_leads_where_the_rules_say),
		cmocka_unit_test(the_first_state_and_event_that_do_not_exist_are_a_failure),
		cmocka_unit_test(r3_power_is_cut_and_counted_when_the_axis_ran_and_only_then),
		cmocka_unit_test(r7_the_hold_is_the_new_one_or_over_or_as_it_was),
		cmocka_unit_test(a_way_is_named_only_while_it_is_held),
		cmocka_unit_test(power_counts_from_its_start),
		cmocka_unit_test(r11_the_first_cause_of_a_trip_stays_until_the_reset),
		cmocka_unit_test(a_start_is_off_and_counts_as_a_cut_in_an_unknown_way),
		cmocka_unit_test(r3_the_pause_depends_on_the_last_way),
		cmocka_unit_test(r3_a_way_that_does_not_exist_has_the_pause_of_the_last_cut),
		cmocka_unit_test(r17_an_axis_moves_until_its_rest_is_over),
		cmocka_unit_test(r3_a_write_moves_the_cut_once_and_never_back),
	};

	return cmocka_run_group_tests_name("core_table", tests, NULL, NULL);
}
