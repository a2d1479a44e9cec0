/* SPDX-License-Identifier: MIT */
/* What the daemon recorded on real lines of a real kernel is what the core does with it. Runs inside the test machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/child.h"
#include "sim/replay/file.h"
#include "tests/kernel/glasshouse.h"

enum { BOUNCES = 7, SEEN_MAX = 8192 };

static struct td_link *keeper(void)
{
	return house.stage.keeper;
}

static void ask(const char *axis, const char *way, int hold, int lease_ms, const char *answer)
{
	assert_string_equal(stage_request(keeper(), axis, way, hold, 0, lease_ms), answer);
}

static void bounce(enum glasshouse_line line, bool pressed)
{
	for (int i = 0; i < BOUNCES; i++) {
		glasshouse_press(line, i % 2 == 0 ? pressed : !pressed);
		stage_sleep(300000);
	}
}

/* To both ends with contacts that bounce, a reversal, a lease that ends, a trip, the stop contact, a reset. */
static void drive(void)
{
	ask("boom", "raise", 1, 1500, "started");
	bounce(BOOM_TOP, true);
	assert_true(glasshouse_await(BOOM_RAISE, false));
	stage_sleep(TD_MS(400));
	ask("boom", "lower", 2, 1500, "started");
	bounce(BOOM_TOP, false);
	stage_sleep(TD_MS(200));
	ask("boom", "raise", 3, 300, "queued");
	stage_sleep(TD_MS(900));
	ask("vent", "open", 4, 1500, "started");
	glasshouse_press(VENT_SHUT, true);
	glasshouse_press(VENT_IS_OPEN, true);
	stage_sleep(TD_MS(300));
	glasshouse_press(STOP_CONTACT, true);
	stage_sleep(TD_MS(100));
	glasshouse_press(STOP_CONTACT, false);
	glasshouse_press(VENT_SHUT, false);
	glasshouse_press(VENT_IS_OPEN, false);
	stage_sleep(TD_MS(300));
	json_decref(stage_call(keeper(), "reset", NULL));
	ask("boom", "raise", 5, 1500, "started");
	stage_sleep(TD_MS(700));
}

static int replay(const char *path, const char *name)
{
	const struct td_replay_order order = {.shown_as = name};
	char *told = NULL;
	size_t length = 0;
	struct td_error err = {""};
	FILE *in = fopen(path, "r");
	FILE *out = open_memstream(&told, &length);

	assert_non_null(in);
	assert_non_null(out);
	int verdict = (int)td_replay_file(in, &order, out, &err);

	(void)fclose(in);
	(void)fclose(out);
	for (char *line = strtok(told, "\n"); line; line = strtok(NULL, "\n"))
		print_message("# measured: %s\n", line);
	if (err.text[0] != '\0')
		print_message("# %s\n", err.text);
	free(told);
	return verdict;
}

/* Replays every file the daemon left; how many there are. */
static unsigned replay_all(void)
{
	char path[STAGE_PATH_MAX + 300];
	char traces[STAGE_PATH_MAX];
	unsigned count = 0;

	(void)snprintf(traces, sizeof(traces), "%s", stage_file(&house.stage, "state/traces"));
	DIR *dir = opendir(traces);

	assert_non_null(dir);
	for (struct dirent *entry = readdir(dir); entry; entry = readdir(dir)) {
		if (!strstr(entry->d_name, ".vcd") || strstr(entry->d_name, ".new"))
			continue;
		(void)snprintf(path, sizeof(path), "%s/%s", traces, entry->d_name);
		assert_int_equal(replay(path, entry->d_name), TD_REPLAY_SAME);
		count++;
	}
	(void)closedir(dir);
	return count;
}

static void what_was_recorded_on_real_lines_replays_without_a_difference(void **state)
{
	(void)state;
	drive();
	assert_int_equal(stage_end_daemon(&house.stage), 0);
	/* The whole run, and the trip of the vent. */
	assert_true(replay_all() >= 2);
	stage_start_daemon(&house.stage);
}

static void killed_in_mid_motion_it_leaves_what_replays_as_far_as_it_goes(void **state)
{
	(void)state;
	ask("boom", "raise", 1, 1500, "started");
	stage_sleep(TD_MS(1300));
	assert_int_equal(kill(house.stage.daemon, SIGKILL), 0);
	(void)td_child_wait(house.stage.daemon, TD_S(3));
	house.stage.daemon = 0;
	td_link_close(house.stage.keeper);
	house.stage.keeper = NULL;
	stage_sleep(TD_MS(500)); /* the others end by themselves */
	assert_true(replay_all() >= 1);
	stage_start_daemon(&house.stage);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, glasshouse_set_up, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(what_was_recorded_on_real_lines_replays_without_a_difference),
		TEST(killed_in_mid_motion_it_leaves_what_replays_as_far_as_it_goes),
	};

	return cmocka_run_group_tests_name("traces of a real kernel", tests, NULL, NULL);
}
