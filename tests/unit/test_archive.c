/* SPDX-License-Identifier: MIT */
/* What happened as a row of files: without a gap, each alone enough for a replay, together no larger than allowed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/support/vault.h"

#define KB INT64_C(1024)

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

static void what_the_core_did_comes_back(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(5));
	recorder_drive(&vault.rec, TD_S(12));
	uint64_t entries = vault.rec.number;
	int64_t bytes_today = td_archive_tally(vault.rec.archive).bytes_today;

	assert_int_equal(td_archive_tally(vault.rec.archive).unwritten, 0);
	assert_int_equal(td_archive_tally(vault.rec.archive).lost, 0);
	assert_true(bytes_today > 0 && bytes_today <= vault_bytes(&vault, "run-"));
	vault_close(&vault);
	assert_int_equal(vault_list(&vault, "", names), 1);
	assert_string_equal(names[0], "run-00000001.vcd");
	struct recorder_file file = vault_play(&vault, names[0]);

	assert_int_equal(file.entries, entries);
	assert_int_equal(file.checks, 1); /* the snapshot after ten seconds */
	assert_false(file.summary.cut_off);
	assert_string_equal(file.head.kind, "run");
	assert_string_equal(file.head.version, TD_VERSION);
	assert_string_equal(file.head.wall, "2024-10-04T12:00:00Z");
	assert_true(file.head.config_hash == vault.rec.config.hash);
	assert_true(file.head.begin_ns == TD_S(1000));
	assert_string_equal(vault_said(&vault), "");
}

/* Handed to the kernel every second: whoever looks, or a daemon that is killed, has what is older. */
static void what_is_older_than_a_second_can_be_read_while_it_runs(void **state)
{
	(void)state;
	vault_open(&vault);
	for (int i = 0; i < 8; i++) {
		recorder_drive(&vault.rec, TD_MS(700));
		td_archive_tend(vault.rec.archive, vault.rec.now_ns);
		struct recorder_file file = vault_play(&vault, "run-00000001.vcd");

		assert_true(file.last_ns >= vault.rec.now_ns - TD_S(1));
	}
}

static void it_is_synced_every_thirty_seconds_and_soon_after_a_trip(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(2));
	unsigned int before = vault.disk.fsyncs;

	recorder_rest(&vault.rec, TD_S(26));
	assert_int_equal(vault.disk.fsyncs, before);
	recorder_rest(&vault.rec, TD_S(4));
	assert_int_equal(vault.disk.fsyncs, before + 1);
	recorder_rest(&vault.rec, TD_S(300));
	assert_in_range(vault.disk.fsyncs, before + 9, before + 11);
	before = vault.disk.fsyncs;
	recorder_rest(&vault.rec, TD_S(5));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(2));
	assert_int_equal(vault.disk.fsyncs, before + 1);
}

static void a_machine_at_rest_is_not_synced_for_nothing(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(40));
	for (int i = 0; i < 60; i++)
		td_archive_tend(vault.rec.archive, vault.rec.now_ns + TD_S(i));
	unsigned int calls = vault.disk.calls;

	for (int i = 60; i < 1000; i++)
		td_archive_tend(vault.rec.archive, vault.rec.now_ns + TD_S(i));
	assert_int_equal(vault.disk.calls, calls);
}

static void one_file_follows_the_other_without_a_gap(void **state)
{
	(void)state;
	vault.setup.size_max = 400 * KB; /* a file changes at 100 kB */
	vault_open(&vault);
	for (int i = 0; i < 50; i++)
		recorder_drive(&vault.rec, TD_S(19));
	vault_close(&vault);
	unsigned int count = vault_list(&vault, "run-", names);
	uint64_t next = 0;

	assert_true(count >= 3);
	for (unsigned int i = 0; i < count; i++) {
		struct recorder_file file = vault_play(&vault, names[i]);

		if (i > 0)
			assert_true(file.head.first_number == next);
		assert_false(file.summary.cut_off);
		assert_true(i + 1 == count || file.summary.bytes > 100 * KB);
		assert_true(file.summary.bytes < 120 * KB);
		next = file.head.first_number + file.entries;
	}
	assert_true(next == vault.rec.number);
}

static void together_they_are_never_larger_than_allowed(void **state)
{
	int64_t most = 0;

	(void)state;
	vault.setup.size_max = 150 * KB;
	vault_open(&vault);
	for (int i = 0; i < 400; i++) {
		recorder_drive(&vault.rec, TD_S(1));
		td_archive_tend(vault.rec.archive, vault.rec.now_ns);
		int64_t bytes = vault_bytes(&vault, "run-");

		most = bytes > most ? bytes : most;
	}
	assert_true(most <= 150 * KB);
	assert_true(most > 110 * KB);
	vault_close(&vault);
	(void)vault_list(&vault, "run-", names);
	assert_string_not_equal(names[0], "run-00000001.vcd"); /* the oldest are gone */
	assert_true(vault_play_all(&vault) >= 3);
	assert_true(td_files_clean(td_disk_real(), vault.dir) == 0);
}

/* One file alone could be larger than all may be, where no snapshot comes: it ends. */
static void a_file_that_cannot_change_ends_before_it_is_too_large(void **state)
{
	(void)state;
	vault.setup.size_max = 60 * KB;
	vault_open(&vault);
	vault.rec.snapshot_ns = vault.rec.now_ns;
	recorder_rest(&vault.rec, TD_MS(500));
	vault.rec.snapshot_ns = TD_NEVER;
	for (int i = 0; i < 30; i++)
		recorder_drive(&vault.rec, TD_S(19));
	assert_true(vault_bytes(&vault, "run-") <= 60 * KB + 512);
	assert_true(td_archive_tally(vault.rec.archive).unwritten > 0);
	vault.rec.snapshot_ns = 0;
	recorder_rest(&vault.rec, TD_S(2));
	vault_close(&vault);
	assert_int_equal(vault_play_all(&vault), 1); /* it has made room for the next */
}

static void without_room_for_run_files_there_are_none(void **state)
{
	(void)state;
	vault.setup.size_max = 0;
	vault_open(&vault);
	recorder_drive(&vault.rec, TD_S(12));
	assert_int_equal(td_archive_tally(vault.rec.archive).unwritten, 0);
	vault_close(&vault);
	assert_int_equal(vault_list(&vault, "", names), 0);
}

static void lost_entries_end_the_file_and_the_next_begins_at_a_snapshot(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_drive(&vault.rec, TD_S(5));
	uint64_t first_lost = vault.rec.number;

	vault.rec.lose = 7;
	recorder_drive(&vault.rec, TD_S(5));
	assert_int_equal(td_archive_tally(vault.rec.archive).lost, 7);
	vault_close(&vault);
	assert_int_equal(vault_list(&vault, "run-", names), 2);
	struct recorder_file one = vault_play(&vault, names[0]);
	struct recorder_file two = vault_play(&vault, names[1]);

	assert_true(one.head.first_number + one.entries == first_lost);
	assert_true(two.head.first_number >= first_lost + 7);
	assert_true(two.head.first_number + two.entries == vault.rec.number);
	assert_int_equal(one.lost + two.lost, 0);
}

static void entries_of_clients_stand_between_the_others(void **state)
{
	const struct td_entry came = {
		.kind = TD_ENTRY_SESSION,
		.at_ns = TD_S(1000),
		.as.session = {.session = 7, .uid = 1000, .role = TD_ROLE_KEEPER, .came = 1},
	};

	(void)state;
	vault_open(&vault);
	td_archive_entry(vault.rec.archive, &came); /* before the first snapshot: nowhere to stand */
	recorder_rest(&vault.rec, TD_S(2));
	td_archive_entry(vault.rec.archive, &came);
	assert_int_equal(td_archive_tally(vault.rec.archive).unwritten, 1);
	vault_close(&vault);
	assert_int_equal(vault_play(&vault, "run-00000001.vcd").entries, vault.rec.number + 1);
}

static void an_entry_that_came_before_is_left_out(void **state)
{
	struct td_entry old = {.kind = TD_ENTRY_STEP, .number = 1};

	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(5));
	td_archive_entry(vault.rec.archive, &old);
	assert_int_equal(td_archive_tally(vault.rec.archive).unwritten, 1);
	recorder_rest(&vault.rec, TD_S(5));
	vault_close(&vault);
	assert_int_equal(vault_play(&vault, "run-00000001.vcd").entries, vault.rec.number);
}

static void another_start_goes_on_with_the_next_number(void **state)
{
	(void)state;
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(5));
	vault_restart(&vault);
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(5));
	vault_close(&vault);
	assert_int_equal(vault_list(&vault, "", names), 2);
	assert_string_equal(names[1], "run-00000002.vcd");
	assert_int_equal(vault_play_all(&vault), 2);
}

static void half_made_files_are_removed_and_all_others_are_left(void **state)
{
	(void)state;
	assert_int_equal(mkdir(vault.dir, 0700), 0);
	vault_put(&vault, "run-00000007.vcd.new", 10);
	vault_put(&vault, "trip-00000007-vent-both-ends.vcd.new", 10);
	vault_put(&vault, "notes.vcd.new", 10);
	vault_put(&vault, "run-7.vcd", 10);
	vault_put(&vault, "run-00000009.vcd.bak", 10);
	vault_put(&vault, "run-00000041.vcd", 10);
	vault_open(&vault);
	recorder_rest(&vault.rec, TD_S(1));
	vault_close(&vault);
	assert_int_equal(vault_list(&vault, "", names), 5);
	assert_string_equal(names[0], "notes.vcd.new");
	assert_string_equal(names[1], "run-00000009.vcd.bak");
	assert_string_equal(names[2], "run-00000041.vcd");
	assert_string_equal(names[3], "run-00000042.vcd");
	assert_string_equal(names[4], "run-7.vcd");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		T(what_the_core_did_comes_back),
		T(what_is_older_than_a_second_can_be_read_while_it_runs),
		T(it_is_synced_every_thirty_seconds_and_soon_after_a_trip),
		T(a_machine_at_rest_is_not_synced_for_nothing),
		T(one_file_follows_the_other_without_a_gap),
		T(together_they_are_never_larger_than_allowed),
		T(a_file_that_cannot_change_ends_before_it_is_too_large),
		T(without_room_for_run_files_there_are_none),
		T(lost_entries_end_the_file_and_the_next_begins_at_a_snapshot),
		T(entries_of_clients_stand_between_the_others),
		T(an_entry_that_came_before_is_left_out),
		T(another_start_goes_on_with_the_next_number),
		T(half_made_files_are_removed_and_all_others_are_left),
#undef T
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
