/* SPDX-License-Identifier: MIT */
/* A disk that is full, slow, gone, or fails at any call: told once, counted, tried again, and what is there is sound. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "daemon/state.h"
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
	td_disk_use(NULL);
	vault_end(&vault);
	return 0;
}

static struct td_archive_tally tally(void)
{
	return td_archive_tally(vault.rec.archive);
}

/* Run files that change, a trip, losses. */
static void busy_minutes(void)
{
	recorder_drive(&vault.rec, TD_S(12));
	vault.rec.lose = 2;
	recorder_drive(&vault.rec, TD_S(12));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(12));
	recorder_drive(&vault.rec, TD_S(12));
}

static void a_full_disk_is_told_once_counted_and_tried_again(void **state)
{
	(void)state;
	vault_open(&vault);
	vault.disk.room = 20000;
	for (int i = 0; i < 15; i++)
		recorder_drive(&vault.rec, TD_S(19));
	recorder_trip(&vault.rec);
	recorder_rest(&vault.rec, TD_S(60));
	assert_true(tally().unwritten > 0);
	assert_int_equal(tally().trips, 0);
	assert_true(vault.disk.refused < 20); /* it is not tried without end */
	assert_int_equal(vault_list(&vault, "trip-", names), 0);
	assert_int_equal(vault_list(&vault, "run-", names), 1);
	assert_true(vault_play(&vault, names[0]).summary.cut_off);
	const char *said = vault_said(&vault);

	assert_int_equal(vault_count(said, "\n"), 2); /* of run files and of trips */
	assert_int_equal(vault_count(said, "<3>tripdogd: "), 2);
	assert_int_equal(vault_count(said, strerror(ENOSPC)), 2);
	assert_int_equal(vault_count(said, "make room"), 2);
	vault.disk.room = -1;
	recorder_rest(&vault.rec, TD_S(620));
	assert_int_equal(tally().trips, 1);
	assert_int_equal(tally().trips_left_out, 0);
	assert_int_equal(vault_list(&vault, "trip-", names), 1);
	assert_int_equal(vault_play(&vault, names[0]).trips, 1);
	assert_int_equal(vault_count(vault_said(&vault), "written again"), 2);
	vault_close(&vault);
	assert_int_equal(vault_play_all(&vault), 3);
}

static void a_directory_that_cannot_be_made_is_tried_again(void **state)
{
	FILE *in_the_way = fopen(vault.dir, "w");

	(void)state;
	assert_non_null(in_the_way);
	assert_int_equal(fclose(in_the_way), 0);
	vault_open(&vault);
	busy_minutes();
	assert_int_equal(tally().trips, 0);
	const char *said = vault_said(&vault);

	assert_int_equal(vault_count(said, "\n"), 1);
	assert_int_equal(vault_count(said, strerror(ENOTDIR)), 1);
	assert_int_equal(unlink(vault.dir), 0);
	recorder_rest(&vault.rec, TD_S(600));
	assert_int_equal(tally().trips, 1);
	assert_int_equal(vault_count(vault_said(&vault), "written again"), 1);
	vault_close(&vault);
	assert_int_equal(vault_play_all(&vault), 2);
}

static void a_directory_that_somebody_removes_is_made_again(void **state)
{
	(void)state;
	vault.setup.size_max = INT64_C(80) * 1024;
	vault_open(&vault);
	recorder_drive(&vault.rec, TD_S(3));
	assert_int_equal(unlink(vault_path(&vault, "run-00000001.vcd")), 0);
	assert_int_equal(rmdir(vault.dir), 0);
	for (int i = 0; i < 20; i++)
		recorder_drive(&vault.rec, TD_S(19));
	assert_true(vault_list(&vault, "run-", names) > 0);
	assert_int_equal(vault_count(vault_said(&vault), "<3>"), 1);
}

static void writes_that_take_a_part_only_make_the_same_files(void **state)
{
	int64_t bytes;

	(void)state;
	vault_open(&vault);
	busy_minutes();
	vault_close(&vault);
	bytes = vault_bytes(&vault, "");
	vault_end(&vault);
	vault_begin(&vault);
	vault.disk.write_most = 7;
	vault_open(&vault);
	busy_minutes();
	vault_close(&vault);
	assert_true(vault_bytes(&vault, "") == bytes);
	assert_int_equal(vault_play_all(&vault), 3);
}

static void doze(void *ctx)
{
	const struct timespec span = {.tv_nsec = 300000};

	(void)ctx;
	(void)nanosleep(&span, NULL);
}

static void a_disk_that_stalls_is_only_waited_for(void **state)
{
	int64_t bytes;

	(void)state;
	vault_open(&vault);
	busy_minutes();
	vault_close(&vault);
	bytes = vault_bytes(&vault, "");
	vault_end(&vault);
	vault_begin(&vault);
	vault.disk.before = doze;
	vault_open(&vault);
	busy_minutes();
	assert_int_equal(tally().unwritten, 0);
	vault_close(&vault);
	assert_true(vault_bytes(&vault, "") == bytes);
	assert_string_equal(vault_said(&vault), "");
}

/* --- the k-th call fails ---------------------------------------------------------------------------- */

/* Every file with a name plays, also right after the fault; nothing half-made outlives the next start. */
static void check_what_is_left(unsigned int k)
{
	unsigned int count = vault_list(&vault, "", names);

	for (unsigned int i = 0; i < count; i++) {
		if (strstr(names[i], TD_FILES_NEW))
			continue;
		struct recorder_file file = recorder_play(vault_path(&vault, names[i]));

		if (file.result != TD_TAPE_READ || file.different > 0)
			fail_msg("call %u failed: %s: %s", k, names[i], file.err.text);
	}
}

static void one_fault(unsigned int k, bool on, int why)
{
	vault_begin(&vault);
	vault.setup.size_max = INT64_C(48) * 1024;
	vault.disk.fail_at = k;
	vault.disk.fail_on = on;
	vault.disk.fail_errno = why;
	vault_open(&vault);
	busy_minutes();
	check_what_is_left(k);
	struct td_archive_tally before = tally();

	vault.disk.fail_at = 0;
	recorder_rest(&vault.rec, TD_S(620)); /* time enough to try again */
	if (tally().trips != 1 || tally().trips_left_out != 0)
		fail_msg("call %u failed, and the trip is not there", k);
	if (tally().unwritten < before.unwritten)
		fail_msg("call %u failed: the count runs backwards", k);
	const char *said = vault_said(&vault);

	if (vault_count(said, "<3>") > 3 || vault_count(said, "<3>") != vault_count(said, "<6>"))
		fail_msg("call %u failed, and it was said: %s", k, said);
	vault_restart(&vault);
	vault_open(&vault);
	vault_close(&vault);
	check_what_is_left(k);
	if (vault_list(&vault, "", names) != vault_play_all(&vault))
		fail_msg("call %u failed, and something half-made is left", k);
}

static unsigned int calls_of_busy_minutes(void)
{
	vault.setup.size_max = INT64_C(48) * 1024;
	vault_open(&vault);
	busy_minutes();
	vault_close(&vault);
	unsigned int calls = vault.disk.calls;

	vault_end(&vault);
	return calls;
}

static void sweep(bool on, int why)
{
	unsigned int calls = calls_of_busy_minutes();

	for (unsigned int k = 1; k <= calls; k++) {
		one_fault(k, on, why);
		vault_end(&vault);
	}
	printf("# measured: %u calls, each failed in turn\n", calls);
	vault_begin(&vault);
}

static void any_call_may_fail_once(void **state)
{
	(void)state;
	sweep(false, EIO);
}

static void any_call_and_all_after_it_may_fail(void **state)
{
	(void)state;
	sweep(true, ENOSPC);
}

/* R10: what is kept goes the same way: a save that says it failed leaves the old file or the new one. */
static void r10_any_call_of_a_save_may_fail(void **state)
{
	struct td_state got;
	struct td_error err;

	(void)state;
	td_disk_use(&vault.disk.disk);
	assert_int_equal(td_state_save(vault.root, &(struct td_state){true}, &err), 0);
	unsigned int calls = vault.disk.calls;

	for (unsigned int k = 1; k <= calls; k++) {
		vault.disk.calls = 0;
		vault.disk.fail_at = 0;
		assert_int_equal(td_state_save(vault.root, &(struct td_state){true}, &err), 0);
		vault.disk.calls = 0;
		vault.disk.fail_at = k;
		int result = td_state_save(vault.root, &(struct td_state){false}, &err);

		assert_int_equal(vault.disk.open, 0);
		assert_int_equal(td_state_load(vault.root, &got, &err), 0);
		assert_true(got.latched || k + 2 >= calls); /* the new one only after it has its name */
		assert_true(result == -1 || !got.latched);
		assert_true(result == -1 || k == calls); /* the directory was closed in vain */
	}
	printf("# measured: %u calls of a save, each failed in turn\n", calls);
	char path[sizeof(vault.root) + 40];

	(void)snprintf(path, sizeof(path), "%s/" TD_STATE_FILE, vault.root);
	(void)unlink(path);
	(void)snprintf(path, sizeof(path), "%s/" TD_STATE_FILE ".new", vault.root);
	(void)unlink(path);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		T(a_full_disk_is_told_once_counted_and_tried_again),
		T(a_directory_that_cannot_be_made_is_tried_again),
		T(a_directory_that_somebody_removes_is_made_again),
		T(writes_that_take_a_part_only_make_the_same_files),
		T(a_disk_that_stalls_is_only_waited_for),
		T(any_call_may_fail_once),
		T(any_call_and_all_after_it_may_fail),
		T(r10_any_call_of_a_save_may_fail),
#undef T
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
