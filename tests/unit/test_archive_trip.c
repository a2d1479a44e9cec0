/* SPDX-License-Identifier: MIT */
/* Any trip keeps the minute before it and five seconds after it, in a file of its own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/scribe/archive_memory.h"
#include "tests/support/vault.h"

static struct vault vault;
static char names[VAULT_FILES_MAX][TD_FILES_NAME_MAX];

static int set_up(void **state)
{
	(void)state;
	vault_begin(&vault);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	vault_end(&vault);
	return 0;
}

static unsigned int trips(void)
{
	return vault_list(&vault, "trip-", names);
}

static void a_minute_before_and_five_seconds_after(void **state)
{
	(void)state;
	vault_open(&vault);
	for (int i = 0; i < 10; i++) {
		recorder_drive(&vault.rec, TD_S(8));
		recorder_rest(&vault.rec, TD_S(7));
	}
	recorder_trip(&vault.rec);
	recorder_drive(&vault.rec, TD_MS(4500));
	assert_int_equal(trips(), 0); /* its time is not over */
	recorder_rest(&vault.rec, TD_S(4));
	assert_int_equal(trips(), 1);
	assert_int_equal(td_archive_tally(vault.rec.archive).trips, 1);
	assert_string_equal(names[0], "trip-00000001-vent-both-ends.vcd");
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_string_equal(file.head.kind, "trip");
	assert_string_equal(file.head.wall,
			    "2024-10-04T11:58:45Z"); /* of its first moment: it is always noon here */
	assert_false(file.summary.cut_off);
	assert_int_equal(file.trips, 1);
	assert_in_range(file.trip_ns - file.head.begin_ns, TD_S(60), TD_S(70) + TD_MS(500));
	assert_true(file.last_ns <= file.trip_ns + TD_S(5));
	assert_true(file.last_ns > file.trip_ns + TD_MS(4500));
	assert_true(file.summary.last_ns == file.trip_ns + TD_S(5) - file.head.begin_ns);
	assert_true(file.checks >= 6);
	assert_string_equal(vault_said(&vault), "");
}

static void soon_after_the_start_it_begins_with_the_first_moment(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_drive(&vault.rec, TD_S(12));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(7));
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_true(file.head.begin_ns == TD_S(1000));
	assert_int_equal(file.head.first_number, 0);
}

static void at_rest_it_is_written_when_its_time_is_over(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(30));
	recorder_trip(&vault.rec);
	td_archive_tend(vault.rec.archive, vault.rec.now_ns + TD_S(4));
	assert_int_equal(trips(), 0);
	td_archive_tend(vault.rec.archive, vault.rec.now_ns + TD_S(5));
	assert_int_equal(trips(), 1);
}

static void the_end_of_the_program_ends_it(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(30));
	recorder_trip(&vault.rec);
	vault_close(&vault);
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_int_equal(file.trips, 1);
	assert_true(file.last_ns == vault.rec.now_ns);
}

static void trips_that_follow_one_another_are_one_file(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(30));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(3));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(4));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_int_equal(file.trips, 3);
	assert_true(file.last_ns > file.trip_ns + TD_S(11));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 2);
}

static void a_row_of_trips_without_end_becomes_files_of_half_a_minute(void **state)
{
	unsigned int seen = 0;

	(void)state;
	vault_open(&vault);
	for (int i = 0; i < 100; i++) {
		recorder_rest(&vault.rec, TD_S(1));
		recorder_trip(&vault.rec);
	}
	recorder_rest(&vault.rec, TD_S(9));
	unsigned int count = trips();

	assert_in_range(count, 4, 5); /* 112 s, a new one every 30 s */
	for (unsigned int i = 0; i < count; i++)
		seen += vault_play(&vault, names[i]).trips;
	assert_true(seen >= 100);
	assert_int_equal(td_archive_tally(vault.rec.archive).trips_left_out, 0);
}

static void what_concerns_several_axes_or_none_is_the_machine_s(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(3));
	recorder_step(&vault.rec, (struct td_event){.kind = TD_EVENT_LINES_LOST});
	recorder_rest(&vault.rec, TD_S(9));
	recorder_step(&vault.rec,
		      (struct td_event){.kind = TD_EVENT_BREACH}); /* every axis has tripped before */
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 2);
	assert_string_equal(names[0], "trip-00000001-machine-lines-lost.vcd");
	assert_string_equal(names[1], "trip-00000002-machine-internal.vcd");
	(void)vault_play(&vault, names[0]);
	(void)vault_play(&vault, names[1]);
}

static void the_newest_hundred_stay(void **state)
{
	char name[TD_FILES_NAME_MAX];

	(void)state;
	assert_int_equal(mkdir(vault.dir, 0700), 0);
	for (unsigned int i = 1; i <= 120; i++) {
		td_files_name(TD_FILES_TRIP, i, "vent-both-ends", name);
		vault_put(&vault, name, 10);
	}
	vault_open(&vault);
	for (unsigned int i = 0; i < 3; i++) {
		recorder_trip(&vault.rec);
		recorder_rest(&vault.rec, TD_S(9));
		assert_int_equal(trips(), 100);
		assert_true(vault_play(&vault, names[99]).trips > 0);
	}
	assert_string_equal(names[0], "trip-00000024-vent-both-ends.vcd");
	assert_string_equal(names[99], "trip-00000123-vent-both-ends.vcd");
}

static void lost_entries_before_a_trip_are_marked_in_its_file(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_drive(&vault.rec, TD_S(15));
	vault.rec.lose = 5;
	recorder_drive(&vault.rec, TD_S(15));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_int_equal(file.lost, 5);
	assert_int_equal(file.trips, 1);
	assert_true(file.head.begin_ns == TD_S(1000));
}

/* More happens than is remembered: then the file begins later, at a snapshot whose entries are all there. */
static void a_flood_shortens_the_minute(void **state)
{
	(void)state;
	vault.setup.size_max = 0;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(50));
	for (int i = 0; i < TD_MEMORY_ENTRIES + 100; i++) {
		vault.rec.now_ns += TD_MS(1);
		recorder_step(&vault.rec, (struct td_event){.kind = TD_EVENT_TIME});
	}
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_in_range(file.trip_ns - file.head.begin_ns, TD_S(1), TD_S(17));
	assert_int_equal(file.trips, 1);
	assert_int_equal(file.lost, 0);
}

/* Many losses bring many snapshots; those that reach back far enough stay. */
static void many_losses_do_not_shorten_the_minute(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(30));
	for (int i = 0; i < 75; i++) {
		vault.rec.lose = 1;
		recorder_rest(&vault.rec, TD_S(1));
	}
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 1);
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_true(file.trip_ns - file.head.begin_ns >= TD_S(60) || file.head.begin_ns == TD_S(1000));
	assert_int_equal(file.trips, 1);
}

static void without_any_snapshot_it_is_left_out_and_counted(void **state)
{
	(void)state;
	vault_open(&vault);
	vault.rec.snapshot_ns = TD_NEVER;
	recorder_rest(&vault.rec, TD_S(3));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(9));
	assert_int_equal(trips(), 0);
	assert_int_equal(td_archive_tally(vault.rec.archive).trips_left_out, 1);
	assert_true(td_archive_tally(vault.rec.archive).unwritten == vault.rec.number);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		T(a_minute_before_and_five_seconds_after),
		T(soon_after_the_start_it_begins_with_the_first_moment),
		T(at_rest_it_is_written_when_its_time_is_over),
		T(the_end_of_the_program_ends_it),
		T(trips_that_follow_one_another_are_one_file),
		T(a_row_of_trips_without_end_becomes_files_of_half_a_minute),
		T(what_concerns_several_axes_or_none_is_the_machine_s),
		T(the_newest_hundred_stay),
		T(lost_entries_before_a_trip_are_marked_in_its_file),
		T(a_flood_shortens_the_minute),
		T(many_losses_do_not_shorten_the_minute),
		T(without_any_snapshot_it_is_left_out_and_counted),
#undef T
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
