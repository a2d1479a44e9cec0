/* SPDX-License-Identifier: MIT */
/* What the monitor's parts say at the edges of what they are given: the least that counts, the first of all axes. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/monitor_duty.h"
#include "core/monitor_parts.h"
#include "tests/support/rule_cart.h"

enum { BACK, AHEAD, PPM = 1000000 };

#define TURN INT64_C(1000000000000000)

static struct td_monitor monitor;
static struct td_rules rules;

static void begin(void)
{
	rules = rule_cart();
	td_monitor_init(&monitor, &rules, 0);
}

/* --- twist ------------------------------------------------------------------------------------------------ */

static struct td_monitor_lean exactly(int32_t lean_ppm)
{
	return (struct td_monitor_lean){.known = true, .least_ppm = lean_ppm, .most_ppm = lean_ppm};
}

/* Whether a turn to the left (or right) is blocked for a wheel that leans so, where only that side turns that way. */
static bool blocked(int64_t net_fturn, int32_t left, int32_t straight, int32_t right, int32_t lean_ppm)
{
	const struct td_twist_rules twist_rules = {.source = TD_TWIST_ESTIMATE,
						   .limit_uturn = PPM,
						   .rate_ppm_s = {[AHEAD] = {[TD_TWIST_LEFT] = left,
									     [TD_TWIST_STRAIGHT] = straight,
									     [TD_TWIST_RIGHT] = right}}};
	struct td_monitor_twist twist;

	td_monitor_twist_init(&twist, 0);
	twist.least_fturn = twist.most_fturn = net_fturn;
	return td_monitor_twist_beyond(&twist, &twist_rules, AHEAD, exactly(lean_ppm));
}

static void r18_each_side_is_judged_by_its_own_rate(void **state)
{
	(void)state;
	for (int sign = -1; sign <= 1; sign += 2) {
		int64_t net_fturn = sign * TURN;

		/* straight on: what the sides do counts for nothing */
		assert_true(blocked(net_fturn, -sign * 100, sign * 100, -sign * 100, 0));
		assert_false(blocked(net_fturn, sign * 100, -sign * 100, sign * 100, 0));
		/* a little to a side: straight on counts for nothing */
		assert_true(blocked(net_fturn, sign * 100, -sign * 100, -sign * 100, 1));
		assert_true(blocked(net_fturn, -sign * 100, -sign * 100, sign * 100, -1));
		assert_false(blocked(net_fturn, -sign * 100, sign * 100, sign * 100, 1));
		assert_false(blocked(net_fturn, sign * 100, sign * 100, -sign * 100, -1));
	}
}

static void r18_the_smallest_rate_there_is_adds_and_none_adds_nothing(void **state)
{
	(void)state;
	assert_true(blocked(TURN, 1, 0, 0, PPM));
	assert_false(blocked(TURN, -1, 0, 0, PPM));
	assert_false(blocked(TURN, 0, 0, 1, PPM));
	assert_true(blocked(-TURN, -1, 0, 0, PPM));
	assert_false(blocked(-TURN, 1, 0, 0, PPM));
	assert_false(blocked(-TURN, 0, 0, 1, PPM));
}

/* A contact that goes to and fro alone proves nothing: which one moved last is kept. */
static void r18_the_contact_that_moved_before_the_restart_is_known_after_it(void **state)
{
	(void)state;
	for (uint8_t changed = 1; changed <= 2; changed++) {
		const struct td_twist kept = {.silent_fturn = 5, .contacts = 0, .changed = changed};
		struct td_monitor_twist twist;

		for (uint8_t moved = 1; moved <= 2; moved++) {
			td_monitor_twist_init(&twist, 0);
			td_monitor_twist_kept(&twist, &kept);
			td_monitor_twist_felt(&twist, moved == 1, moved == 2);
			assert_int_equal(twist.moved, moved);
			assert_true(twist.silent_fturn == (moved == changed ? 5 : 0));
		}
	}
}

static void r18_what_was_kept_is_taken_to_the_last_bit(void **state)
{
	static const uint8_t places[] = {0, 1, 3, 2, 4, 4}; /* of 00 01 10 11; more is none */

	(void)state;
	for (uint8_t contacts = 0; contacts < sizeof(places); contacts++) {
		const struct td_twist kept = {
			.gross_fturn = 1, .unsure_fturn = 1, .silent_fturn = 1, .contacts = contacts};
		struct td_monitor_twist twist;

		td_monitor_twist_init(&twist, 77);
		assert_true(twist.counted_ns == 77);
		td_monitor_twist_kept(&twist, &kept);
		assert_int_equal(twist.place, places[contacts]);
		assert_true(twist.driven_fturn == 1 && twist.unsure_fturn == 1 && twist.silent_fturn == 1);
	}
}

static void r18_straightened_perhaps_it_may_still_be_as_it_was(void **state)
{
	static const int64_t bounds[][4] = {{-5, 7, -5, 7}, {5, 7, 0, 7}, {-7, -5, -7, 0}};

	(void)state;
	for (size_t i = 0; i < sizeof(bounds) / sizeof(bounds[0]); i++) {
		struct td_monitor_twist twist;

		td_monitor_twist_init(&twist, 0);
		twist.least_fturn = twist.least_counts = bounds[i][0];
		twist.most_fturn = twist.most_counts = bounds[i][1];
		td_monitor_twist_straight(&twist, false);
		assert_true(twist.least_fturn == bounds[i][2] && twist.least_counts == bounds[i][2]);
		assert_true(twist.most_fturn == bounds[i][3] && twist.most_counts == bounds[i][3]);
	}
}

/* --- the steering ------------------------------------------------------------------------------------------ */

static void begin_cable(void)
{
	begin();
	rules.cable = (struct td_cable_rules){
		.twist = {.source = TD_TWIST_ESTIMATE, .limit_uturn = PPM},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
		.left = 1,
	};
	rules.cable.twist.rate_ppm_s[AHEAD][TD_TWIST_LEFT] = 100000;
	rules.cable.twist.rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = -100000;
	monitor.twist.least_fturn = monitor.twist.most_fturn = TURN;
	monitor.axis[RULE_WHEEL].located = true;
	monitor.axis[RULE_WHEEL].lost = false;
}

/* Certainly at its left stop; where nobody can be certain, it may as well stand at the other one. */
static bool blocked_at_left_stop(td_ns reach_ns)
{
	rules.axis[RULE_WHEEL].way[1].reach_ns = reach_ns;
	rules.axis[RULE_WHEEL].way[1].limit_ns = reach_ns;
	monitor.axis[RULE_WHEEL].way[1].least_ns = reach_ns;
	monitor.axis[RULE_WHEEL].way[1].most_ns = reach_ns;
	return td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD);
}

static void r18_the_shortest_and_the_longest_stroke_have_a_scale(void **state)
{
	(void)state;
	begin_cable();
	assert_true(blocked_at_left_stop(TD_REACH_MIN_NS));
	assert_true(blocked_at_left_stop(TD_REACH_MAX_NS));
	assert_false(blocked_at_left_stop(TD_REACH_MIN_NS - 1));
	assert_false(blocked_at_left_stop(TD_REACH_MAX_NS + 1));
}

/* Two fifths of its stroke to the left is on the right side of the middle, whatever the stroke to the right is. */
static void r18_the_scale_is_that_of_the_stroke_to_its_own_side(void **state)
{
	(void)state;
	begin_cable();
	rules.axis[RULE_WHEEL].way[0].reach_ns = TD_MS(600);
	rules.axis[RULE_WHEEL].way[1].reach_ns = rules.axis[RULE_WHEEL].way[1].limit_ns = TD_MS(1000);
	monitor.axis[RULE_WHEEL].way[1].least_ns = TD_MS(400);
	monitor.axis[RULE_WHEEL].way[1].most_ns = TD_MS(400);
	monitor.twist.least_fturn = monitor.twist.most_fturn = -TURN;
	assert_true(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD));
	monitor.twist.least_fturn = monitor.twist.most_fturn = TURN;
	assert_false(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD));
}

static void r18_a_steering_that_springs_stands_where_its_power_says(void **state)
{
	(void)state;
	for (uint8_t left = 0; left < TD_WAYS; left++) {
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			begin_cable();
			rules.cable.springs = 1;
			rules.cable.left = left;
			monitor.axis[RULE_WHEEL].way[way].on = true;
			monitor.axis[RULE_WHEEL].way[way].rose_ns = TD_S(1);
			monitor.now_ns = TD_S(1) + rules.axis[RULE_WHEEL].rest_ns;
			assert_int_equal(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD), way == left);
			monitor.twist.least_fturn = monitor.twist.most_fturn = -TURN;
			assert_int_equal(td_monitor_twists(&monitor, &rules, RULE_DRIVE, AHEAD), way != left);
		}
	}
}

static void r18_one_end_switch_is_enough_to_doubt_where_a_steering_stands(void **state)
{
	(void)state;
	for (int way = 0; way < TD_WAYS; way++) {
		begin_cable();
		assert_true(blocked_at_left_stop(TD_MS(600)));
		rules.axis[RULE_WHEEL].way[way].end_switch = RULE_OPEN;
		assert_false(blocked_at_left_stop(TD_MS(600)));
	}
}

static void r18_while_anybody_may_wait_for_the_drive_untwisting_is_not_certain(void **state)
{
	const struct td_event keeper = {.kind = TD_EVENT_UNTWISTED, .role = TD_ROLE_KEEPER};

	(void)state;
	for (int claim = -1; claim < TD_MONITOR_CLAIMS; claim++) {
		begin_cable();
		monitor.now_ns = TD_S(100);
		if (claim >= 0)
			monitor.axis[RULE_DRIVE].claim[claim].live = true;
		td_monitor_untwisted(&monitor, &rules, &keeper);
		assert_true(monitor.axis[RULE_DRIVE].doubt_ns == TD_S(100));
		assert_true(monitor.twist.least_fturn == 0);
		assert_true(monitor.twist.most_fturn == (claim >= 0 ? TURN : 0));
	}
}

/* --- ends and trips ------------------------------------------------------------------------------------------ */

static void r8_after_a_trip_nobody_knows_where_the_axis_stands(void **state)
{
	(void)state;
	begin();
	monitor.axis[RULE_BOOM].located = true;
	monitor.axis[RULE_BOOM].lost = false;
	td_monitor_trip(&monitor, RULE_BOOM, TD_BREACH_BOTH_ENDS, TD_NO_WAY);
	assert_true(monitor.axis[RULE_BOOM].tripped && monitor.axis[RULE_BOOM].lost);
	assert_false(monitor.axis[RULE_BOOM].located);
}

/* R11: a reset judges anew. With an end switch there may have been a trip that nobody saw. */
static void r11_one_end_switch_is_enough_for_a_trip_that_nobody_saw(void **state)
{
	(void)state;
	for (unsigned int ends = 0; ends < 4; ends++) {
		begin();
		for (unsigned int way = 0; way < TD_WAYS; way++)
			if ((ends >> way & 1) == 0)
				rules.axis[RULE_BOOM].way[way].end_switch = TD_NO_SWITCH;
		monitor.axis[RULE_BOOM].located = true;
		td_monitor_relocate(&monitor, &rules, RULE_BOOM);
		assert_int_equal(monitor.axis[RULE_BOOM].located, ends == 0);
	}
}

static void r11_what_only_the_keeper_may_reset_is_anybodys_after_it(void **state)
{
	const struct td_event keeper = {.kind = TD_EVENT_RESET, .axis = RULE_BOOM, .role = TD_ROLE_KEEPER};

	(void)state;
	begin();
	td_monitor_trip(&monitor, RULE_BOOM, TD_BREACH_WRONG_END, 1);
	assert_true(monitor.axis[RULE_BOOM].keepers);
	td_monitor_reset(&monitor, &rules, &keeper);
	assert_false(monitor.axis[RULE_BOOM].tripped);
	assert_false(monitor.axis[RULE_BOOM].keepers);
}

/* --- duty and supply ------------------------------------------------------------------------------------------ */

static void r13_every_axis_weighs_and_the_first_among_them(void **state)
{
	(void)state;
	for (uint8_t heavy = 0; heavy < RULE_AXES; heavy++) {
		begin();
		rules.supply.budget_ma = 1000;
		for (uint8_t axis = 0; axis < RULE_AXES; axis++)
			rules.supply.axis[axis] = (struct td_supply_axis_rules){.start_ma = 1, .run_ma = 1};
		rules.supply.axis[heavy] =
			(struct td_supply_axis_rules){.start_ma = 1000, .run_ma = 1000, .start_ns = TD_S(1)};
		monitor.axis[heavy].way[0].on = true;
		assert_false(td_monitor_overload(&monitor, &rules, heavy));
		monitor.axis[(heavy + 1) % RULE_AXES].way[1].on = true;
		assert_true(td_monitor_overload(&monitor, &rules, heavy));
		assert_true(td_monitor_overload(&monitor, &rules, (uint8_t)((heavy + 1) % RULE_AXES)));
	}
}

static void r12_what_is_hotter_than_the_limit_is_found_though_it_cools(void **state)
{
	const struct td_duty_rules motor = {.inf_ppm = 900000,
					    .tau_on_ns = TD_S(1000),
					    .tau_off_ns = TD_S(1000),
					    .restart_ppm = PPM,
					    .allowed_ns = {TD_NEVER, TD_NEVER, TD_NEVER}};
	struct td_monitor_duty duty;

	(void)state;
	td_monitor_duty_init(&duty, 0);
	duty.on = true;
	duty.heat = 1.5;
	assert_int_equal(td_monitor_duty_judge(&duty, &motor, TD_MS(1), false).breach, TD_BREACH_HEAT);
	duty.heat = 1;
	assert_int_equal(td_monitor_duty_judge(&duty, &motor, TD_MS(1), false).breach, TD_BREACH_NONE);
}

/* The share that a time covers against the exponential function of the C library, to the last few bits. */
static void r12_the_equation_of_the_winding_is_that_of_the_library(void **state)
{
	const struct td_duty_rules motor = {.inf_ppm = PPM, .tau_on_ns = TD_S(1), .tau_off_ns = TD_S(1)};
	struct td_monitor_duty duty;
	double worst = 0;

	(void)state;
	td_monitor_duty_init(&duty, 0);
	duty.on = true;
	for (td_ns at_ns = 1000; at_ns < TD_S(100); at_ns += at_ns / 61 + 1) {
		double share = td_monitor_duty_heat(&duty, &motor, at_ns);
		double exact = -expm1(-(double)at_ns / 1e9);
		double off_by = fabs(share - exact) / exact;

		worst = off_by > worst ? off_by : worst;
	}
	print_message("# measured: off by at most %.1e of the value\n", worst);
	assert_true(worst < 1e-14);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r18_each_side_is_judged_by_its_own_rate),
		cmocka_unit_test(r18_the_smallest_rate_there_is_adds_and_none_adds_nothing),
		cmocka_unit_test(r18_the_contact_that_moved_before_the_restart_is_known_after_it),
		cmocka_unit_test(r18_what_was_kept_is_taken_to_the_last_bit),
		cmocka_unit_test(r18_straightened_perhaps_it_may_still_be_as_it_was),
		cmocka_unit_test(r18_the_shortest_and_the_longest_stroke_have_a_scale),
		cmocka_unit_test(r18_the_scale_is_that_of_the_stroke_to_its_own_side),
		cmocka_unit_test(r18_a_steering_that_springs_stands_where_its_power_says),
		cmocka_unit_test(r18_one_end_switch_is_enough_to_doubt_where_a_steering_stands),
		cmocka_unit_test(r18_while_anybody_may_wait_for_the_drive_untwisting_is_not_certain),
		cmocka_unit_test(r8_after_a_trip_nobody_knows_where_the_axis_stands),
		cmocka_unit_test(r11_one_end_switch_is_enough_for_a_trip_that_nobody_saw),
		cmocka_unit_test(r11_what_only_the_keeper_may_reset_is_anybodys_after_it),
		cmocka_unit_test(r13_every_axis_weighs_and_the_first_among_them),
		cmocka_unit_test(r12_what_is_hotter_than_the_limit_is_found_though_it_cools),
		cmocka_unit_test(r12_the_equation_of_the_winding_is_that_of_the_library),
	};

	return cmocka_run_group_tests_name("monitor_edges", tests, NULL, NULL);
}
