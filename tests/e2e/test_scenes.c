/* SPDX-License-Identifier: MIT */
/* What the demonstration shows, against the real processes over the real sockets. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "sim/child.h"
#include "tests/support/stage.h"

enum { LEASE_MS = 300, LATE_MS = 20, LOWER = 0, RAISE = 1, LEFT = 0, RIGHT = 1, FORWARD = 1 };

static int set_up(void **state)
{
	static struct stage stage;

	stage_open(&stage);
	*state = &stage;
	return 0;
}

static int tear_down(void **state)
{
	stage_close(*state);
	return 0;
}

static void nothing_was_hurt(struct stage *stage)
{
	assert_int_equal(stage_total(stage, "skipped_teeth"), 0);
	assert_int_equal(stage_total(stage, "both_high"), 0);
}

static void r2_the_boom_stops_at_both_ends_and_skips_no_tooth(void **state)
{
	struct stage *stage = *state;

	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 1, TD_S(6)), "end-reached");
	assert_true(stage_position(stage, "boom") < 0.05);
	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 2, TD_S(1)), "at-end");
	stage_sleep(TD_MS(300));
	assert_string_equal(stage_hold(stage->keeper, "boom", "raise", 3, TD_S(6)), "end-reached");
	assert_true(stage_position(stage, "boom") > 0.95);
	assert_string_equal(stage_axis(stage->keeper, "boom", "position_ppm"), "1000000");
	nothing_was_hurt(stage);
}

static void r6_the_steering_is_cut_after_its_stroke(void **state)
{
	struct stage *stage = *state;

	assert_string_equal(stage_hold(stage->keeper, "steering", "left", 1, TD_S(3)), "hold-limit");
	td_ns powered_ns = stage_fall_ns(stage, "steering", LEFT) - stage_rise_ns(stage, "steering", LEFT);

	printf("# measured: steering powered %.1f ms of a stroke of 600 ms\n", (double)powered_ns / 1e6);
	/* The core counts from its own decision, the board from the write: some microseconds apart. */
	assert_true(powered_ns > TD_MS(599));
	assert_true(powered_ns < TD_MS(600 + LATE_MS));
	stage_sleep(TD_MS(300));
	assert_string_equal(stage_hold(stage->keeper, "steering", "left", 2, TD_S(1)), "at-stop");
	assert_string_equal(stage_request(stage->keeper, "steering", "right", 3, 0, LEASE_MS), "started");
	nothing_was_hurt(stage);
}

static void r7_a_client_killed_in_mid_motion_stops_the_way(void **state)
{
	struct stage *stage = *state;
	pid_t client = stage_client(stage, "visitor.sock", "drive", "forward", "9s");

	assert_true(stage_wait_output(stage, "drive", FORWARD, true, TD_S(3)));
	stage_sleep(TD_MS(500));
	td_ns killed_ns = td_clock_now();

	kill(client, SIGKILL);
	assert_true(stage_wait_output(stage, "drive", FORWARD, false, TD_S(3)));
	td_ns span_ns = stage_fall_ns(stage, "drive", FORWARD) - killed_ns;

	td_child_wait(client, TD_S(1));
	printf("# measured: client killed -> outputs low %.2f ms (allowed: lease %d + %d ms)\n",
	       (double)span_ns / 1e6, LEASE_MS, LATE_MS);
	assert_true(span_ns < TD_MS(LEASE_MS + LATE_MS));
	assert_false(stage_any_high(stage));
}

static void r7_a_client_that_freezes_stops_the_way_with_its_lease(void **state)
{
	struct stage *stage = *state;
	pid_t client = stage_client(stage, "visitor.sock", "drive", "forward", "9s");

	assert_true(stage_wait_output(stage, "drive", FORWARD, true, TD_S(3)));
	stage_sleep(TD_MS(500));
	td_ns frozen_ns = td_clock_now();

	kill(client, SIGSTOP);
	assert_true(stage_wait_output(stage, "drive", FORWARD, false, TD_S(3)));
	td_ns span_ns = stage_fall_ns(stage, "drive", FORWARD) - frozen_ns;

	printf("# measured: client frozen -> outputs low %.2f ms (allowed: lease %d + %d ms)\n",
	       (double)span_ns / 1e6, LEASE_MS, LATE_MS);
	assert_true(span_ns < TD_MS(LEASE_MS + LATE_MS));
	/* Waking up again must not revive the hold. */
	kill(client, SIGCONT);
	stage_sleep(TD_MS(700));
	assert_false(stage_any_high(stage));
	kill(client, SIGKILL);
	td_child_wait(client, TD_S(1));
}

static void r9_a_broken_end_switch_wire_stops_the_way(void **state)
{
	struct stage *stage = *state;

	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 1, TD_S(6)), "end-reached");
	stage_sleep(TD_MS(300));
	json_decref(stage_call(stage->keeper, "follow", NULL));
	assert_string_equal(stage_request(stage->keeper, "boom", "raise", 2, 0, 1500), "started");
	stage_sleep(TD_MS(600));
	td_ns broken_ns = td_clock_now();

	json_decref(stage_poke(stage, "break boom_top"));
	assert_true(stage_wait_output(stage, "boom", RAISE, false, TD_S(1)));
	td_ns span_ns = stage_fall_ns(stage, "boom", RAISE) - broken_ns;

	printf("# measured: wire broken -> outputs low %.2f ms\n", (double)span_ns / 1e6);
	assert_true(span_ns < TD_MS(2 + LATE_MS));
	assert_string_equal(stage_axis(stage->keeper, "boom", "trip.cause"), "end-too-early");
	assert_string_equal(stage_request(stage->keeper, "boom", "lower", 3, 0, LEASE_MS), "tripped");
	nothing_was_hurt(stage);
}

static void r8_a_loose_switch_wire_trips_until_it_has_been_quiet(void **state)
{
	struct stage *stage = *state;

	for (int i = 0; i < 8; i++) {
		json_decref(stage_poke(stage, i % 2 == 0 ? "break boom_top" : "mend boom_top"));
		stage_sleep(TD_MS(30));
	}
	assert_string_equal(stage_axis(stage->keeper, "boom", "trip.cause"), "chatter");
	json_decref(stage_call(stage->keeper, "reset", json_pack("{s:s}", "axis", "boom")));
	assert_string_equal(stage_axis(stage->keeper, "boom", "trip.cause"), "chatter");
	stage_sleep(TD_MS(1100));
	json_decref(stage_call(stage->keeper, "reset", json_pack("{s:s}", "axis", "boom")));
	assert_null(stage_axis(stage->keeper, "boom", "trip.cause"));
	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 1, TD_S(6)), "end-reached");
	nothing_was_hurt(stage);
}

static void r4_a_jammed_boom_trips_after_its_learned_time(void **state)
{
	struct stage *stage = *state;

	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 1, TD_S(6)), "end-reached");
	stage_sleep(TD_MS(300));
	json_decref(stage_call(stage->keeper, "follow", NULL));
	assert_string_equal(stage_request(stage->keeper, "boom", "raise", 2, 0, 1500), "started");
	stage_sleep(TD_MS(600));
	json_decref(stage_poke(stage, "jam boom"));
	assert_string_equal(stage_hold(stage->keeper, "boom", "raise", 3, TD_S(9)), "replaced");
	assert_string_equal(stage_hold(stage->keeper, "boom", "raise", 4, TD_S(9)), "travel-limit");
	assert_string_equal(stage_axis(stage->keeper, "boom", "trip.rule"), "R4");
	/* A reset clears, and nothing moves by it. */
	json_decref(stage_poke(stage, "free boom"));
	json_decref(stage_call(stage->keeper, "reset", json_pack("{s:s}", "axis", "boom")));
	stage_sleep(TD_MS(500));
	assert_false(stage_any_high(stage));
	assert_null(stage_axis(stage->keeper, "boom", "trip.cause"));
}

static void r1_both_ways_at_once_never_make_both_inputs_high(void **state)
{
	struct stage *stage = *state;
	struct td_link *other = stage_link(stage, "visitor.sock");

	for (int i = 1; i <= 6; i++) {
		assert_string_equal(
			stage_request(stage->keeper, "steering", i % 2 ? "left" : "right", i, 0, LEASE_MS),
			i == 1 ? "started" : "queued");
		assert_string_equal(
			stage_request(other, "steering", i % 2 ? "right" : "left", i, 0, LEASE_MS),
			"held-by-other");
		stage_sleep(TD_MS(40));
	}
	td_link_close(other);
	assert_int_equal(stage_total(stage, "both_high"), 0);
}

static void expect_cause(struct td_link *link, const char *method, json_t *params, const char *cause)
{
	json_t *answer = stage_call(link, method, params);
	const char *got = json_string_value(json_object_get(json_object_get(answer, "data"), "cause"));

	assert_non_null(got);
	assert_string_equal(got, cause);
	json_decref(answer);
}

static void r10_the_latched_stop_holds_over_a_restart_until_the_keeper_resets_it(void **state)
{
	struct stage *stage = *state;
	struct td_link *visitor = stage_link(stage, "visitor.sock");

	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, 1500), "started");
	td_ns asked_ns = td_clock_now();

	json_decref(stage_call(visitor, "latch", NULL));
	td_ns span_ns = stage_fall_ns(stage, "drive", FORWARD) - asked_ns;

	printf("# measured: latched stop asked -> outputs low %.2f ms\n", (double)span_ns / 1e6);
	assert_true(span_ns > 0 && span_ns < TD_MS(LATE_MS));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, LEASE_MS), "latched");
	td_link_close(visitor);

	assert_int_equal(stage_end_daemon(stage), 0);
	stage_start_daemon(stage);
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, LEASE_MS), "latched");
	visitor = stage_link(stage, "visitor.sock");
	expect_cause(visitor, "reset", NULL, "not-allowed");
	td_link_close(visitor);
	json_decref(stage_call(stage->keeper, "reset", NULL));
	stage_sleep(TD_MS(300));
	assert_false(stage_any_high(stage));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, LEASE_MS), "started");

	assert_int_equal(stage_end_daemon(stage), 0);
	stage_start_daemon(stage);
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, LEASE_MS), "started");
}

static void reset_boom(struct td_link *link, const char *expected)
{
	json_t *answer = stage_call(link, "reset", json_pack("{s:s}", "axis", "boom"));
	const json_t *cause = json_object_get(answer, "cause");

	if (!cause)
		cause = json_object_get(json_object_get(answer, "data"), "cause");
	assert_string_equal(json_string_value(cause), expected);
	json_decref(answer);
}

static bool raise_is_locked(struct td_link *link)
{
	enum { BOOM = 2 };
	json_t *status = stage_call(link, "status", NULL);
	const json_t *boom = json_array_get(json_object_get(status, "axes"), BOOM);
	bool locked = json_is_true(json_array_get(json_object_get(boom, "locked"), RAISE));

	json_decref(status);
	return locked;
}

/* Sooner than the running daemon has written anything. The visitor's new link. */
static struct td_link *crash_and_start_again(struct stage *stage)
{
	kill(stage->daemon, SIGKILL);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), 256 + SIGKILL);
	td_link_close(stage->keeper);
	stage->keeper = NULL;
	stage->daemon = 0;
	stage_sleep(TD_MS(500));
	stage_start_daemon(stage);
	return stage_link(stage, "visitor.sock");
}

/* A visitor may try again once; then the way waits for the keeper, over a restart and a crash too, and the way back does
 * not. */
static void r11_a_jam_that_comes_again_locks_the_way(void **state)
{
	struct stage *stage = *state;
	struct td_link *visitor = stage_link(stage, "visitor.sock");

	json_decref(stage_poke(stage, "jam boom"));
	for (int hold = 1; hold <= 2; hold++) {
		assert_string_equal(stage_hold(visitor, "boom", "raise", hold, TD_S(9)), "travel-limit");
		assert_string_equal(stage_axis(visitor, "boom", "trip.reset_by"), "visitor");
		assert_int_equal(raise_is_locked(visitor), hold == 2);
		reset_boom(visitor, "reset-done");
	}
	stage_sleep(TD_MS(300));
	assert_false(stage_any_high(stage));
	assert_string_equal(stage_request(visitor, "boom", "raise", 3, 0, LEASE_MS), "way-locked");
	td_link_close(visitor);
	assert_int_equal(stage_end_daemon(stage), 0);
	stage_start_daemon(stage);
	visitor = crash_and_start_again(stage);
	assert_true(raise_is_locked(visitor));
	assert_string_equal(stage_request(visitor, "boom", "raise", 3, 0, LEASE_MS), "way-locked");
	reset_boom(visitor, "not-allowed");
	assert_string_equal(stage_request(visitor, "boom", "lower", 4, 0, LEASE_MS), "started");
	stage_sleep(TD_MS(LEASE_MS + 300));
	json_decref(stage_poke(stage, "free boom"));
	reset_boom(stage->keeper, "reset-done");
	assert_string_equal(stage_request(visitor, "boom", "raise", 5, 0, LEASE_MS), "started");
	td_link_close(visitor);
}

static void r10_the_emergency_stop_input_latches(void **state)
{
	struct stage *stage = *state;

	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, 1500), "started");
	td_ns pressed_ns = td_clock_now();

	json_decref(stage_poke(stage, "press stop_contact"));
	assert_true(stage_wait_output(stage, "drive", FORWARD, false, TD_S(1)));
	td_ns span_ns = stage_fall_ns(stage, "drive", FORWARD) - pressed_ns;

	printf("# measured: emergency-stop input -> outputs low %.2f ms\n", (double)span_ns / 1e6);
	assert_true(span_ns < TD_MS(LATE_MS));
	expect_cause(stage->keeper, "reset", NULL, "still-there");
	json_decref(stage_poke(stage, "unpress stop_contact"));
	stage_sleep(TD_MS(400));
	json_decref(stage_call(stage->keeper, "reset", NULL));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, LEASE_MS), "started");
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(r2_the_boom_stops_at_both_ends_and_skips_no_tooth),
		SCENE(r6_the_steering_is_cut_after_its_stroke),
		SCENE(r7_a_client_killed_in_mid_motion_stops_the_way),
		SCENE(r7_a_client_that_freezes_stops_the_way_with_its_lease),
		SCENE(r9_a_broken_end_switch_wire_stops_the_way),
		SCENE(r8_a_loose_switch_wire_trips_until_it_has_been_quiet),
		SCENE(r4_a_jammed_boom_trips_after_its_learned_time),
		SCENE(r11_a_jam_that_comes_again_locks_the_way),
		SCENE(r1_both_ways_at_once_never_make_both_inputs_high),
		SCENE(r10_the_latched_stop_holds_over_a_restart_until_the_keeper_resets_it),
		SCENE(r10_the_emergency_stop_input_latches),
	};

	return cmocka_run_group_tests_name("scenes", tests, NULL, NULL);
}
