/* SPDX-License-Identifier: MIT */
/* The simulated mechanics: stops, teeth, cams, faults, and that the size of a step changes nothing. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "sim/plant.h"
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

static bool pressed(const struct td_plant *plant, uint8_t sw)
{
	return td_plant_levels(plant) >> sw &
	       1U; /* the cart's contacts open when pressed, and are pulled up */
}

static void starts_at_rest_with_nothing_to_come(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	assert_int_equal(td_plant_next(&plant), TD_NEVER);
	assert_false(td_plant_moving(&plant));
	assert_int_equal(td_plant_levels(&plant), 0);
	assert_int_equal(plant.rise_ns[2], -1);
	assert_true(report_of(&plant, CART_BOOM).position == 0.5);
}

static void starting_on_a_cam_is_pressed_without_bounce(void **state)
{
	(void)state;
	struct td_plant_model model = cart_model();

	model.motor[CART_BOOM].start = 1;
	struct td_plant plant = plant_of(model);
	assert_true(pressed(&plant, CART_TOP));
	assert_false(pressed(&plant, CART_BOTTOM));
	assert_int_equal(td_plant_next(&plant), TD_NEVER);
}

/* A first-order motor lags one time constant behind full speed once it is up to it: position
 * v (t - tau), exact but for e^-(t/tau). Computed from the formula. */
static void a_motor_runs_one_time_constant_behind_full_speed(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_advance(&plant, TD_MS(800));
	struct td_plant_report up = report_of(&plant, CART_BOOM);
	assert_true(fabs(up.position - (0.5 + (0.8 - 0.04) / 2.0)) < 1e-9);
	assert_true(fabs(up.speed - 0.5) < 1e-8);
	assert_int_equal(up.powered_ns, TD_MS(800));
	assert_int_equal(up.starts, 1);
	assert_int_equal(plant.rise_ns[CART_BOOM * TD_WAYS + 1], 0);
}

static void each_way_has_its_own_speed(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_LOWER);
	td_plant_advance(&plant, TD_MS(600));
	assert_true(fabs(report_of(&plant, CART_BOOM).speed + 1 / 1.5) < 1e-6);
}

/* Half of the travel less the cam's 5 % at 0.5 shares a second, behind by the time constant. */
static void the_cam_presses_where_it_should(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_ns at = td_plant_next(&plant);
	assert_true(llabs((long long)(at - TD_MS(900 + 40))) < 100);
	td_plant_advance(&plant, at - 1);
	assert_false(pressed(&plant, CART_TOP));
	td_plant_advance(&plant, at);
	assert_true(pressed(&plant, CART_TOP));
	assert_true(td_plant_next(&plant) <= at + TD_US(1500)); /* the burst */
}

static void coming_back_releases_the_cam_with_a_burst(void **state)
{
	(void)state;
	struct td_plant_model model = cart_model();
	int edges = 0;

	model.motor[CART_BOOM].start = 1;
	struct td_plant plant = plant_of(model);
	td_plant_outputs(&plant, 0, CART_LOWER);
	for (td_ns next = td_plant_next(&plant); next < TD_MS(300); next = td_plant_next(&plant)) {
		bool before = pressed(&plant, CART_TOP);

		td_plant_advance(&plant, next);
		edges += pressed(&plant, CART_TOP) != before;
	}
	assert_false(pressed(&plant, CART_TOP));
	assert_in_range(edges, 3, 1 + TD_FEELER_FLIPS_MAX);
}

static void pushing_against_a_stop_skips_whole_teeth(void **state)
{
	(void)state;
	static const struct {
		int ms;
		int teeth;
	} rows[] = {{0, 0},    {16, 0},   {17, 1},    {33, 1},      {34, 2},
		    {500, 30}, {999, 59}, {1000, 60}, {60000, 3600}};
	struct td_plant_model model = cart_model();

	model.motor[CART_BOOM].start = 1;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_plant plant = plant_of(model);

		td_plant_outputs(&plant, 0, CART_RAISE);
		td_plant_outputs(&plant, TD_MS(rows[i].ms), 0);
		td_plant_advance(&plant, TD_S(100));
		assert_int_equal(report_of(&plant, CART_BOOM).skipped_teeth, rows[i].teeth);
		assert_int_equal(report_of(&plant, CART_BOOM).pushing_ns, TD_MS(rows[i].ms));
		assert_true(report_of(&plant, CART_BOOM).position == 1);
	}
}

static void teeth_count_from_the_moment_of_the_stop(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE); /* reaches the stop at 1000 + 40 ms */
	td_plant_advance(&plant, TD_MS(1039));
	assert_false(report_of(&plant, CART_BOOM).pushing);
	td_plant_advance(&plant, TD_MS(2040));
	assert_true(report_of(&plant, CART_BOOM).pushing);
	assert_true(td_plant_moving(&plant));
	assert_true(llabs((long long)(report_of(&plant, CART_BOOM).pushing_ns - TD_MS(1000))) < 100);
	assert_int_equal(report_of(&plant, CART_BOOM).skipped_teeth, 60);
}

static void cut_before_the_stop_skips_nothing(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_outputs(&plant, td_plant_next(&plant), 0); /* at the first edge of the switch */
	td_plant_advance(&plant, TD_S(10));
	struct td_plant_report end = report_of(&plant, CART_BOOM);
	assert_int_equal(end.skipped_teeth, 0);
	assert_true(fabs(end.position - (0.95 + 0.5 * 0.025)) < 1e-6); /* coasts speed x time constant */
	assert_false(td_plant_moving(&plant));
}

static void coasting_into_the_stop_skips_nothing(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_outputs(&plant, TD_MS(1030), 0);
	td_plant_advance(&plant, TD_S(10));
	assert_true(report_of(&plant, CART_BOOM).position == 1);
	assert_int_equal(report_of(&plant, CART_BOOM).pushing_ns, 0);
}

static void a_stop_lets_go_the_other_way(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_outputs(&plant, TD_MS(1100), CART_LOWER);
	td_plant_advance(&plant, TD_MS(1400));
	assert_true(report_of(&plant, CART_BOOM).position < 0.95);
	assert_true(report_of(&plant, CART_BOOM).position > 0.75);
	assert_false(pressed(&plant, CART_TOP));
	assert_false(report_of(&plant, CART_BOOM).pushing);
}

static void reversing_near_the_stop_may_still_hit_it(void **state)
{
	(void)state;
	struct td_plant_model model = cart_model();

	model.motor[CART_BOOM].speed_up_ns = TD_MS(400);
	struct td_plant plant = plant_of(model);
	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_advance(&plant, TD_MS(1250));
	assert_true(report_of(&plant, CART_BOOM).position < 1);
	td_plant_outputs(&plant, TD_MS(1250), CART_LOWER);
	td_plant_advance(&plant,
			 TD_MS(1300)); /* 0.45 a second against a slow reversal: hits, at once turns */
	assert_int_equal(report_of(&plant, CART_BOOM).pushing_ns, 0);
	td_plant_advance(&plant, TD_S(20));
	assert_true(report_of(&plant, CART_BOOM).position == 0);
	assert_true(report_of(&plant, CART_BOOM).pushing);
}

static void R1_both_inputs_high_is_counted_and_brakes(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_outputs(&plant, TD_MS(400), CART_RAISE | CART_LOWER);
	double at = report_of(&plant, CART_BOOM).position;
	td_plant_outputs(&plant, TD_MS(407), CART_LOWER);
	td_plant_outputs(&plant, TD_MS(500), CART_RAISE | CART_LOWER);
	td_plant_outputs(&plant, TD_MS(600), CART_RAISE | CART_LOWER); /* still: not a second time */
	td_plant_outputs(&plant, TD_MS(700), 0);
	struct td_plant_report end = report_of(&plant, CART_BOOM);
	assert_int_equal(end.both_high, 2);
	assert_int_equal(end.both_high_ns, TD_MS(207));
	assert_int_equal(end.powered_ns, TD_MS(493));
	assert_int_equal(end.starts, 2);
	assert_true(at > end.position);
	assert_true(fabs(end.speed) < 1e-3); /* 20 braking time constants */
}

/* e^-0.7 = 0.49659: what is left of the speed after 7 ms of a braking time constant of 10 ms. */
static void R1_the_brake_has_its_own_time_constant(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_outputs(&plant, TD_MS(400), CART_RAISE | CART_LOWER);
	double before = report_of(&plant, CART_BOOM).speed;
	td_plant_advance(&plant, TD_MS(407));
	assert_true(fabs(report_of(&plant, CART_BOOM).speed / before - 0.49659) < 5e-6);
}

static void a_free_axis_has_no_ends(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_FORWARD);
	td_plant_outputs(&plant, TD_S(40), 0);
	td_plant_advance(&plant, TD_S(60));
	assert_true(fabs(report_of(&plant, CART_DRIVE).position - (40 - 0.12 + 0.08) / 4) < 1e-6);
	assert_int_equal(report_of(&plant, CART_DRIVE).skipped_teeth, 0);
	td_plant_push(&plant, CART_DRIVE, -17.5);
	assert_true(report_of(&plant, CART_DRIVE).position == -17.5);
}

static void a_jam_holds_and_skips_teeth_until_it_is_freed(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, CART_RAISE);
	td_plant_advance(&plant, TD_MS(400));
	double held = report_of(&plant, CART_BOOM).position;
	td_plant_jam(&plant, CART_BOOM, true);
	td_plant_advance(&plant, TD_MS(1400));
	assert_true(report_of(&plant, CART_BOOM).position == held);
	assert_true(report_of(&plant, CART_BOOM).jammed);
	assert_int_equal(report_of(&plant, CART_BOOM).skipped_teeth, 60);
	td_plant_outputs(&plant, TD_MS(1400), 0);
	td_plant_advance(&plant, TD_MS(2000));
	assert_int_equal(report_of(&plant, CART_BOOM).skipped_teeth, 60); /* not powered: pushes nothing */
	td_plant_outputs(&plant, TD_MS(2000), CART_RAISE);
	td_plant_jam(&plant, CART_BOOM, false);
	td_plant_advance(&plant, TD_MS(2100));
	assert_true(report_of(&plant, CART_BOOM).position > held);
	assert_int_equal(report_of(&plant, CART_BOOM).skipped_teeth, 60);
}

static void a_hand_can_put_an_axis_onto_its_cam(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_push(&plant, CART_BOOM, 0.01);
	assert_true(pressed(&plant, CART_BOTTOM));
	td_plant_push(&plant, CART_BOOM, 7); /* the hand stops at the stop */
	td_plant_advance(&plant, TD_MS(5));
	assert_true(report_of(&plant, CART_BOOM).position == 1);
	assert_false(pressed(&plant, CART_BOTTOM));
	assert_true(pressed(&plant, CART_TOP));
}

static void a_finger_presses_any_switch(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_press(&plant, CART_STOP, true);
	assert_true(pressed(&plant, CART_STOP));
	td_plant_advance(&plant, TD_MS(5));
	assert_true(pressed(&plant, CART_STOP));
	td_plant_press(&plant, CART_STOP, false);
	td_plant_advance(&plant, TD_MS(10));
	assert_false(pressed(&plant, CART_STOP));
}

static void R9_wires_break_short_and_are_mended(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_wire(&plant, CART_TOP, TD_WIRE_BROKEN);
	assert_int_equal(td_plant_levels(&plant), 1 << CART_TOP);
	td_plant_wire(&plant, CART_TOP, TD_WIRE_SHORTED);
	td_plant_push(&plant, CART_BOOM, 1);
	assert_int_equal(td_plant_levels(&plant), 0); /* shorted: it no longer sees its cam */
	td_plant_wire(&plant, CART_TOP, TD_WIRE_SOUND);
	td_plant_advance(&plant, TD_MS(5));
	assert_int_equal(td_plant_levels(&plant), 1 << CART_TOP);
}

static void time_never_runs_backwards(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, TD_MS(100), CART_RAISE);
	td_plant_advance(&plant, TD_MS(50));
	td_plant_outputs(&plant, TD_MS(20), 0);
	assert_int_equal(plant.now_ns, TD_MS(100));
	assert_int_equal(plant.fall_ns[CART_BOOM * TD_WAYS + 1], TD_MS(100));
	assert_int_equal(report_of(&plant, CART_BOOM).powered_ns, 0);
}

static void lines_of_axes_that_do_not_exist_are_ignored(void **state)
{
	(void)state;
	struct td_plant plant = plant_of(cart_model());

	td_plant_outputs(&plant, 0, 0xfffffff0U);
	assert_int_equal(plant.outputs, 0);
	assert_int_equal(td_plant_lines(0), 0);
	assert_int_equal(td_plant_lines(2), 0xf);
	assert_int_equal(td_plant_lines(TD_AXES_MAX), UINT32_MAX);
}

static void the_largest_model_works(void **state)
{
	(void)state;
	struct td_plant_model model = cart_model();
	struct td_plant plant;

	model.motors = TD_AXES_MAX;
	model.switches = TD_SWITCHES_MAX;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		model.motor[axis] = cart_model().motor[CART_BOOM];
		model.motor[axis].end_switch[0] = (uint8_t)(axis * 2);
		model.motor[axis].end_switch[1] = (uint8_t)(axis * 2 + 1);
	}
	td_plant_init(&plant, &model, 0);
	td_plant_outputs(&plant, 0, 0xaaaaaaaaU); /* way 1 of every axis */
	td_plant_advance(&plant, TD_S(5));
	assert_int_equal(td_plant_levels(&plant), 0xaaaaaaaaU);
	td_plant_outputs(&plant, TD_S(5), 0x55555555U);
	td_plant_advance(&plant, TD_S(10));
	assert_int_equal(td_plant_levels(&plant), 0x55555555U);
	assert_true(report_of(&plant, 15).position == 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(starts_at_rest_with_nothing_to_come),
		cmocka_unit_test(starting_on_a_cam_is_pressed_without_bounce),
		cmocka_unit_test(a_motor_runs_one_time_constant_behind_full_speed),
		cmocka_unit_test(each_way_has_its_own_speed),
		cmocka_unit_test(the_cam_presses_where_it_should),
		cmocka_unit_test(coming_back_releases_the_cam_with_a_burst),
		cmocka_unit_test(pushing_against_a_stop_skips_whole_teeth),
		cmocka_unit_test(teeth_count_from_the_moment_of_the_stop),
		cmocka_unit_test(cut_before_the_stop_skips_nothing),
		cmocka_unit_test(coasting_into_the_stop_skips_nothing),
		cmocka_unit_test(a_stop_lets_go_the_other_way),
		cmocka_unit_test(reversing_near_the_stop_may_still_hit_it),
		cmocka_unit_test(R1_both_inputs_high_is_counted_and_brakes),
		cmocka_unit_test(R1_the_brake_has_its_own_time_constant),
		cmocka_unit_test(a_free_axis_has_no_ends),
		cmocka_unit_test(a_jam_holds_and_skips_teeth_until_it_is_freed),
		cmocka_unit_test(a_hand_can_put_an_axis_onto_its_cam),
		cmocka_unit_test(a_finger_presses_any_switch),
		cmocka_unit_test(R9_wires_break_short_and_are_mended),
		cmocka_unit_test(time_never_runs_backwards),
		cmocka_unit_test(lines_of_axes_that_do_not_exist_are_ignored),
		cmocka_unit_test(the_largest_model_works),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
