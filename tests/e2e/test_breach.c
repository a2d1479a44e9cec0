/* SPDX-License-Identifier: MIT */
/*
 * The monitor in the daemon: the daemon with faults on demand (daemon/test_faults.h) spoils each word of outputs in which
 * the core powers anything, and nothing of it reaches the board.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/stage.h"

#define RESTED_NS TD_MS(600)

enum { FORWARD = 1 };

/* Starts the daemon that puts `word` into its outputs besides. */
static void start_spoilt(struct stage *stage, const char *word)
{
	static char build[STAGE_PATH_MAX];
	const char *whole = getenv("TD_BUILD");
	char fault[STAGE_PATH_MAX + 8];

	snprintf(build, sizeof(build), "%s", whole ? whole : "build/plain");
	snprintf(fault, sizeof(fault), "%s/fault", build);
	stage_end_daemon(stage);
	setenv("TD_BUILD", fault, 1);
	setenv("TD_TEST_WORD", word, 1);
	stage_start_daemon(stage);
	setenv("TD_BUILD", build, 1);
	unsetenv("TD_TEST_WORD");
}

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

static int times_logged(struct stage *stage, const char *words)
{
	char line[1024];
	int times = 0;
	FILE *in = fopen(stage_file(stage, "daemon.log"), "r");

	assert_non_null(in);
	while (fgets(line, sizeof(line), in))
		times += strstr(line, words) != NULL;
	fclose(in);
	return times;
}

static void nothing_was_powered(struct stage *stage)
{
	assert_false(stage_any_high(stage));
	assert_true(stage_rise_ns(stage, "drive", FORWARD) < 0);
	assert_true(stage_rise_ns(stage, "drive", 1 - FORWARD) < 0);
	assert_true(stage_rise_ns(stage, "boom", 0) < 0);
	assert_int_equal(stage_total(stage, "both_high"), 0);
}

static void every_axis_is_tripped(struct stage *stage)
{
	static const char *const axes[] = {"drive", "steering", "boom", "vent"};

	for (size_t i = 0; i < sizeof(axes) / sizeof(axes[0]); i++)
		assert_string_equal(stage_axis(stage->keeper, axes[i], "trip.cause"), "internal");
}

static void spoilt(struct stage *stage, const char *word, const char *logged)
{
	start_spoilt(stage, word);
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, 1500), "tripped");
	stage_sleep(RESTED_NS);
	nothing_was_powered(stage);
	every_axis_is_tripped(stage);
	assert_int_equal(times_logged(stage, "breach rule="), 1);
	assert_int_equal(times_logged(stage, logged), 1);
	/* a reset helps only as long as nobody asks */
	json_decref(stage_call(stage->keeper, "reset", NULL));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, 1500), "tripped");
	stage_sleep(TD_MS(200));
	nothing_was_powered(stage);
	assert_int_equal(times_logged(stage, "breach rule="), 2);
}

static void r1_both_inputs_of_a_bridge_are_never_written(void **state)
{
	spoilt(*state, "0x3", "breach rule=R1 axis=drive");
}

static void r7_an_output_that_nobody_asked_for_is_never_written(void **state)
{
	spoilt(*state, "0x10", "breach rule=R7 axis=boom way=lower");
}

static void r1_an_output_that_no_axis_has_is_never_written(void **state)
{
	spoilt(*state, "0x40000000", "breach rule=R1 axis=-");
}

static void without_a_fault_the_same_daemon_drives(void **state)
{
	struct stage *stage = *state;

	start_spoilt(stage, "0");
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, 1500), "started");
	assert_true(stage_wait_output(stage, "drive", FORWARD, true, TD_S(1)));
	assert_int_equal(times_logged(stage, "breach"), 0);
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(r1_both_inputs_of_a_bridge_are_never_written),
		SCENE(r7_an_output_that_nobody_asked_for_is_never_written),
		SCENE(r1_an_output_that_no_axis_has_is_never_written),
		SCENE(without_a_fault_the_same_daemon_drives),
	};

	return cmocka_run_group_tests_name("breach", tests, NULL, NULL);
}
