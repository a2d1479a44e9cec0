/* SPDX-License-Identifier: MIT */
/* tripdog follow beside the real daemon: it stalls, the daemon is started anew, and no trip is missing from what it printed. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "sim/child.h"
#include "tests/support/stage.h"

enum { TEXT_MAX = 256 * 1024, PATIENCE = 400, TRIPS = 3 };

static struct stage stage;
static char text[TEXT_MAX]; /* what the follower has printed */
static int hold;

static pid_t start_follower(void)
{
	char program[STAGE_PATH_MAX];
	char socket[STAGE_PATH_MAX * 2];
	struct td_error err;

	(void)snprintf(program, sizeof(program), "%s", stage_program("tripdog"));
	(void)snprintf(socket, sizeof(socket), "%s", stage_file(&stage, "visitor.sock"));
	const char *const argv[] = {program, "--socket", socket, "follow", NULL};
	pid_t pid = td_child_start(argv, stage_file(&stage, "follow.log"), &err);

	if (pid < 0)
		fail_msg("%s", err.text);
	return pid;
}

static void read_text(void)
{
	FILE *in = fopen(stage_file(&stage, "follow.log"), "r");

	text[0] = '\0';
	if (!in)
		return; /* it has not begun yet */
	text[fread(text, 1, sizeof(text) - 1, in)] = '\0';
	(void)fclose(in);
}

static int count_of(const char *words)
{
	int count = 0;

	for (const char *found = text; (found = strstr(found, words)); found++)
		count++;
	return count;
}

static void await(const char *words, int times)
{
	for (int i = 0; i < PATIENCE; i++, stage_sleep(TD_MS(20))) {
		read_text();
		if (count_of(words) >= times)
			return;
	}
	fail_msg("\"%s\" was not printed %d times: %s", words, times, text);
}

/* A wire breaks as soon as the boom rises: both ends at once. */
static void trip_and_reset(void)
{
	const char *cause = NULL;

	(void)stage_hold(stage.keeper, "boom", "lower", ++hold, TD_S(6)); /* it may be there already */
	stage_sleep(TD_MS(300));
	assert_string_equal(stage_request(stage.keeper, "boom", "raise", ++hold, 0, 1500), "started");
	json_decref(stage_poke(&stage, "break boom_top"));
	for (int i = 0; i < PATIENCE && !cause; i++, stage_sleep(TD_MS(5)))
		cause = stage_axis(stage.keeper, "boom", "trip.cause");
	assert_non_null(cause);
	json_decref(stage_poke(&stage, "mend boom_top"));
	stage_sleep(TD_MS(400));
	json_decref(stage_call(stage.keeper, "reset", json_pack("{s:s}", "axis", "boom")));
	assert_null(stage_axis(stage.keeper, "boom", "trip.cause"));
}

static void a_follower_that_stalls_and_is_cut_off_prints_every_trip_and_reset_once(void **state)
{
	(void)state;
	stage_open(&stage);
	pid_t follower = start_follower();

	await("glasshouse cart", 1);
	assert_int_equal(kill(follower, SIGSTOP), 0);
	for (int i = 0; i < TRIPS; i++)
		trip_and_reset();
	assert_int_equal(kill(follower, SIGCONT), 0);
	await("reset-done", TRIPS);

	/* The daemon ends and is there again, with the latched stop on. */
	json_decref(stage_call(stage.keeper, "latch", NULL));
	await("latch-asked", 1);
	assert_int_equal(stage_end_daemon(&stage), 0);
	await("trying to connect again", 1);
	hold = 0;
	stage_start_daemon(&stage);
	await("the daemon was started anew", 1);
	await("latch-kept", 1);
	json_decref(stage_call(stage.keeper, "reset", NULL));
	await("reset-done", TRIPS + 1);
	trip_and_reset();
	await("reset-done", TRIPS + 2);

	assert_int_equal(kill(follower, SIGINT), 0);
	assert_int_equal(td_child_wait(follower, TD_S(5)), TD_EXIT_DONE);
	read_text();
	printf("# measured: %d trips, %d resets, %d starts told\n", count_of("both-ends"),
	       count_of("reset-done"), count_of(": started"));
	assert_int_equal(count_of("reset-done"), TRIPS + 2);
	assert_int_equal(count_of("both-ends"), TRIPS + 1);
	assert_int_equal(count_of("latch-asked"), 1);
	assert_int_equal(count_of("left out"), 0);
	stage_close(&stage);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_follower_that_stalls_and_is_cut_off_prints_every_trip_and_reset_once)};

	return cmocka_run_group_tests_name("follow", tests, NULL, NULL);
}
