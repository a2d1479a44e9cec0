/* SPDX-License-Identifier: MIT */
/* R12 over restarts, with the real daemon: neither a restart nor a crash nor a damaged record makes a motor cold. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/exit_codes.h"
#include "daemon/scribe/record_file.h"
#include "sim/child.h"
#include "tests/support/stage.h"

static struct stage stage;
static int hold;

/* The steering may be powered for one second of any minute. */
static void shorten_the_minute(void)
{
	char line[512];
	FILE *in = fopen(stage.config, "r");
	FILE *copy = fopen(stage_file(&stage, "short.conf"), "w");

	assert_non_null(in);
	assert_non_null(copy);
	while (fgets(line, sizeof(line), in))
		(void)fputs(strncmp(line, "minute_s", 8) == 0 ? "minute_s = 1\n" : line, copy);
	(void)fclose(in);
	(void)fclose(copy);
	assert_int_equal(rename(stage_file(&stage, "short.conf"), stage.config), 0);
}

static int set_up(void **state)
{
	(void)state;
	hold = 0;
	stage_open(&stage);
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	shorten_the_minute();
	stage_start_daemon(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stage_close(&stage);
	return 0;
}

static const char *steer(const char *way)
{
	return stage_request(stage.keeper, "steering", way, ++hold, 0, 300);
}

static void use_up_the_minute(void)
{
	assert_string_equal(stage_hold(stage.keeper, "steering", "left", ++hold, TD_S(2)), "hold-limit");
	stage_sleep(TD_MS(200));
	assert_string_equal(stage_hold(stage.keeper, "steering", "right", ++hold, TD_S(2)), "duty-cut");
	stage_sleep(TD_MS(200));
	assert_string_equal(steer("left"), "duty-spent");
}

static void start_again(void)
{
	stage_start_daemon(&stage);
	hold = 0;
}

static void forget_daemon(void)
{
	td_link_close(stage.keeper);
	stage.keeper = NULL;
	stage.daemon = 0;
}

static const char *tell(const char *method, const char *axis)
{
	static char cause[64];
	json_t *answer = stage_call(stage.keeper, method, axis ? json_pack("{s:s}", "axis", axis) : NULL);
	const json_t *refusal = json_object_get(answer, "data");
	const char *text = json_string_value(json_object_get(refusal ? refusal : answer, "cause"));

	(void)snprintf(cause, sizeof(cause), "%s", text ? text : "no cause");
	json_decref(answer);
	return cause;
}

static void r12_a_spent_minute_is_spent_after_a_restart(void **state)
{
	(void)state;
	use_up_the_minute();
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	start_again();
	assert_string_equal(steer("left"), "duty-spent");
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", ++hold, 0, 300), "started");
}

static void r12_a_crash_makes_nothing_cold(void **state)
{
	(void)state;
	assert_string_equal(steer("left"), "started");
	kill(stage.daemon, SIGKILL);
	assert_int_equal(td_child_wait(stage.daemon, TD_S(3)), 256 + SIGKILL);
	forget_daemon();
	stage_sleep(TD_MS(500));
	start_again();
	assert_string_equal(steer("left"), "duty-spent");
}

static void r12_the_keeper_may_vouch_for_a_cold_motor(void **state)
{
	(void)state;
	use_up_the_minute();
	assert_string_equal(tell("cooled", "steering"), "cooled");
	assert_string_equal(steer("left"), "started");
	assert_string_equal(tell("cooled", "steering"), "still-moving");
}

/* One byte of the middle. */
static void damage_the_record(void)
{
	FILE *file = fopen(stage_file(&stage, "state/" TD_RECORD_FILE), "r+");

	assert_non_null(file);
	assert_int_equal(fseek(file, TD_KEEP_SIZE / 2, SEEK_SET), 0);
	int byte = fgetc(file);

	assert_int_equal(fseek(file, TD_KEEP_SIZE / 2, SEEK_SET), 0);
	assert_int_equal(fputc(byte ^ 0x40, file), byte ^ 0x40);
	assert_int_equal(fclose(file), 0);
}

static void r12_a_damaged_record_reads_as_the_worst_until_the_keeper_knows_better(void **state)
{
	(void)state;
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	damage_the_record();
	start_again();
	assert_string_equal(steer("left"), "latched");
	assert_string_equal(tell("reset", NULL), "reset-done");
	assert_string_equal(steer("left"), "duty-spent");
	assert_string_equal(tell("cooled", NULL), "cooled");
	assert_string_equal(steer("left"), "started");
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	start_again();
	assert_string_equal(steer("right"), "started"); /* the record is whole again, the latch off */
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(r12_a_spent_minute_is_spent_after_a_restart),
		SCENE(r12_a_crash_makes_nothing_cold),
		SCENE(r12_the_keeper_may_vouch_for_a_cold_motor),
		SCENE(r12_a_damaged_record_reads_as_the_worst_until_the_keeper_knows_better),
	};

	return cmocka_run_group_tests_name("kept over restarts", tests, NULL, NULL);
}
