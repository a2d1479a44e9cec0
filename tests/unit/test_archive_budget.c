/* SPDX-License-Identifier: MIT */
/* What is written in a day is bounded, over restarts too, and a quarter of it is kept for trips. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/support/vault.h"

enum { DAILY = 400 * 1024, DAY_S = 86400 };

static struct vault vault;
static char names[VAULT_FILES_MAX][TD_FILES_NAME_MAX];

static int set_up(void **state)
{
	(void)state;
	vault_begin(&vault);
	vault.setup.daily_max = DAILY;
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	vault_end(&vault);
	return 0;
}

static void drive(int times)
{
	for (int i = 0; i < times; i++)
		recorder_drive(&vault.rec, TD_S(19));
}

static struct td_archive_tally tally(void)
{
	return td_archive_tally(vault.rec.archive);
}

/* The day the files were last written on is the one of the tests. */
static void date_files(int64_t at_s)
{
	unsigned int count = vault_list(&vault, "", names);
	const struct timespec times[2] = {{.tv_sec = at_s}, {.tv_sec = at_s}};

	for (unsigned int i = 0; i < count; i++)
		assert_int_equal(utimensat(AT_FDCWD, vault_path(&vault, names[i]), times, 0), 0);
}

static void run_files_pause_when_three_quarters_are_spent(void **state)
{
	(void)state;
	vault_open(&vault);
	drive(80);
	assert_true(tally().unwritten > 0);
	assert_in_range(tally().bytes_today, DAILY * 3 / 4 - 2048, DAILY * 3 / 4);
	assert_true(tally().bytes_today == vault_bytes(&vault, ""));
	assert_true(tally().bytes_today == vault.disk.written);
	const char *said = vault_said(&vault);

	assert_int_equal(vault_count(said, "\n"), 1);
	assert_int_equal(vault_count(said, "<4>tripdogd: "), 1);
	assert_int_equal(vault_count(said, "until midnight UTC"), 1);
	assert_int_equal(vault_list(&vault, "run-", names), 1);
	assert_false(vault_play(&vault, names[0]).summary.cut_off);
}

static void the_rest_is_for_trips(void **state)
{
	(void)state;
	vault_open(&vault);
	drive(80);
	int64_t before = tally().bytes_today;

	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(tally().trips, 1);
	assert_int_equal(vault_list(&vault, "trip-", names), 1);
	assert_int_equal(vault_play(&vault, names[0]).trips, 1);
	assert_true(tally().bytes_today > before);
}

static void trips_beyond_the_day_are_left_out_told_once_and_counted(void **state)
{
	(void)state;
	vault_open(&vault);
	drive(80);
	(void)vault_said(&vault);
	for (int i = 0; i < 12; i++) {
		drive(1);
		recorder_trip(&vault.rec);
		recorder_rest(&vault.rec, TD_S(9));
	}
	assert_true(tally().trips >= 2);
	assert_true(tally().trips_left_out >= 2);
	assert_int_equal(tally().trips + tally().trips_left_out, 12);
	assert_true(tally().bytes_today <= DAILY);
	assert_true(vault.disk.written <= DAILY);
	assert_int_equal(vault_list(&vault, "trip-", names), tally().trips);
	assert_int_equal(vault_play_all(&vault), tally().trips + 1); /* nothing half-made */
	const char *said = vault_said(&vault);

	assert_int_equal(vault_count(said, "\n"), 1);
	assert_int_equal(vault_count(said, "a trip is not recorded"), 1);
}

/* Trips may use what run files leave, but run files never the trips' part. */
static void many_trips_leave_less_to_run_files(void **state)
{
	(void)state;
	vault_open(&vault);
	for (int i = 0; i < 9; i++) {
		drive(2);
		recorder_trip(&vault.rec);
		recorder_rest(&vault.rec, TD_S(9));
	}
	assert_true(vault_bytes(&vault, "trip-") > DAILY / 4);
	drive(80);
	assert_true(tally().bytes_today <= DAILY);
	assert_true(vault.disk.written <= DAILY);
	assert_true(vault_play_all(&vault) > 0);
}

static void midnight_of_utc_begins_a_new_budget(void **state)
{
	char text[1024];

	(void)state;
	vault_open(&vault);
	drive(80);
	uint64_t unwritten = tally().unwritten;

	recorder_wall_add_s = DAY_S / 2 - 1; /* the last second of the day */
	drive(2);
	assert_true(tally().unwritten > unwritten);
	assert_int_equal(vault_list(&vault, "run-", names), 1);
	recorder_wall_add_s = DAY_S / 2;
	drive(2);
	unwritten = tally().unwritten;
	drive(2);
	assert_int_equal(tally().unwritten, unwritten);
	assert_int_equal(vault_list(&vault, "run-", names), 2);
	struct recorder_file file = vault_play(&vault, names[1]);

	assert_true(file.entries > 0);
	assert_true(tally().bytes_today == vault_bytes(&vault, "run-00000002"));
	(void)snprintf(text, sizeof(text), "entries %llu\n", (unsigned long long)unwritten);
	/* The next file says how many were left out. */
	FILE *in = fopen(vault_path(&vault, names[1]), "r");
	static char bytes[64 * 1024];

	assert_non_null(in);
	bytes[fread(bytes, 1, sizeof(bytes) - 1, in)] = '\0';
	(void)fclose(in);
	assert_non_null(strstr(bytes, text));
}

static void a_restart_does_not_forget_what_was_written_today(void **state)
{
	(void)state;
	vault_open(&vault);
	drive(30);
	recorder_trip(&vault.rec);
	vault_restart(&vault);
	date_files(RECORDER_NOON_S - 60);
	int64_t bytes = vault_bytes(&vault, "");

	vault_open(&vault);
	assert_true(tally().bytes_today == bytes);
	drive(80);
	assert_true(tally().bytes_today <= DAILY);
	assert_true(vault_bytes(&vault, "") <= DAILY);
	assert_true(vault_bytes(&vault, "run-") <= DAILY * 3 / 4);
	vault_restart(&vault);
	date_files(RECORDER_NOON_S - DAY_S);
	vault_open(&vault);
	assert_true(tally().bytes_today == 0);
	drive(1);
	assert_int_equal(tally().unwritten, 0);
}

/* A computer without a clock of its own may believe that it is years ahead, until the network tells it better. */
static void a_clock_that_is_put_right_does_not_stop_the_traces(void **state)
{
	(void)state;
	recorder_wall_add_s = INT64_C(4000) * DAY_S;
	vault_open(&vault);
	drive(80);
	assert_true(tally().unwritten > 0);
	recorder_wall_add_s = 0;
	drive(2);
	uint64_t unwritten = tally().unwritten;

	drive(2);
	assert_int_equal(tally().unwritten, unwritten);
}

static void a_budget_too_small_for_anything_writes_next_to_nothing(void **state)
{
	(void)state;
	vault.setup.daily_max = 0;
	vault_open(&vault);
	drive(3);
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_true(vault.disk.written == 0);
	assert_int_equal(tally().trips_left_out, 1);
	assert_int_equal(vault_list(&vault, "", names), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		T(run_files_pause_when_three_quarters_are_spent),
		T(the_rest_is_for_trips),
		T(trips_beyond_the_day_are_left_out_told_once_and_counted),
		T(many_trips_leave_less_to_run_files),
		T(midnight_of_utc_begins_a_new_budget),
		T(a_restart_does_not_forget_what_was_written_today),
		T(a_clock_that_is_put_right_does_not_stop_the_traces),
		T(a_budget_too_small_for_anything_writes_next_to_nothing),
#undef T
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
