/* SPDX-License-Identifier: MIT */
/* The writer of traces on a disk that is full from the n-th write on, for every n; and calls on a broken trace. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/small_disk.h"
#include "trace/vcd_writer.h"

static const struct td_vcd_head full_head = {"2026-11-25", "tripdog test", TD_VCD_SCALE_1US};

/* One call of each kind, in a good order. -1 at the first that fails. */
static int write_all(struct td_vcd_writer *w, struct td_error *err)
{
	bool bad = td_vcd_writer_comment(w, "invented cart", err) || td_vcd_writer_enter(w, "cart", err) ||
		   td_vcd_writer_signal(w, "armed", 1, td_vcd_unknown(), err) < 0 ||
		   td_vcd_writer_enter(w, "boom", err) ||
		   td_vcd_writer_signal(w, "state", 3, td_vcd_number(1), err) < 0 ||
		   td_vcd_writer_leave(w, err) || td_vcd_writer_begin(w, TD_MS(5), err) ||
		   td_vcd_writer_set(w, 0, TD_MS(6), td_vcd_number(1), err) ||
		   td_vcd_writer_comment_at(w, TD_MS(7), "between", err) ||
		   td_vcd_writer_comment(w, "and", err) || td_vcd_writer_finish(w, TD_MS(8), err);

	return bad ? -1 : 0;
}

/* A broken trace stays broken, whatever it is asked for, and says the same again. */
static void assert_broken(struct td_vcd_writer *w)
{
	for (int call = 0; call < 8; call++) {
		struct td_error err = {""};
		int results[] = {
			call == 0 ? td_vcd_writer_comment(w, "x", &err) : -1,
			call == 1 ? td_vcd_writer_enter(w, "x", &err) : -1,
			call == 2 ? td_vcd_writer_leave(w, &err) : -1,
			call == 3 ? td_vcd_writer_signal(w, "x", 1, td_vcd_number(0), &err) : -1,
			call == 4 ? td_vcd_writer_begin(w, 0, &err) : -1,
			call == 5 ? td_vcd_writer_set(w, 0, TD_S(9), td_vcd_number(1), &err) : -1,
			call == 6 ? td_vcd_writer_comment_at(w, TD_S(9), "x", &err) : -1,
			call == 7 ? td_vcd_writer_finish(w, TD_S(9), &err) : -1,
		};

		assert_int_equal(results[call], -1);
		assert_string_equal(err.text, SMALL_DISK_SAYS);
	}
	assert_true(td_vcd_writer_broken(w));
}

/* True where the disk had room for everything. */
static bool fits(long writes)
{
	struct small_disk disk;
	struct td_error err = {""};

	small_disk_open(&disk, writes);
	struct td_vcd_writer *w = td_vcd_writer_new(disk.file, &full_head, &err);
	bool good = w && write_all(w, &err) == 0;

	if (!good)
		assert_string_equal(err.text, SMALL_DISK_SAYS);
	if (w && !good)
		assert_broken(w);
	td_vcd_writer_free(w);
	small_disk_close(&disk);
	return good;
}

static void a_disk_may_be_full_at_any_write(void **state)
{
	long writes = 0;

	(void)state;
	while (!fits(writes))
		writes++;
	assert_true(writes > 20);
	print_message("# measured: full at each of %ld writes\n", writes);
}

static void a_file_that_has_failed_before_is_not_begun(void **state)
{
	struct small_disk disk;
	struct td_error err = {""};

	(void)state;
	small_disk_open(&disk, 0);
	assert_int_equal(fputs("x", disk.file), EOF);
	disk.left = 100;
	assert_null(td_vcd_writer_new(disk.file, &full_head, &err));
	assert_non_null(strstr(err.text, "could not be written: unknown error"));
	small_disk_close(&disk);
}

static void no_more_scopes_inside_each_other_than_can_be_read(void **state)
{
	struct small_disk disk;
	struct td_error err = {""};

	(void)state;
	small_disk_open(&disk, 1000);
	struct td_vcd_writer *w = td_vcd_writer_new(disk.file, &full_head, NULL);

	for (int i = 0; i < TD_VCD_DEPTH_MAX; i++)
		assert_int_equal(td_vcd_writer_enter(w, "x", NULL), 0);
	assert_int_equal(td_vcd_writer_enter(w, "x", &err), -1);
	assert_non_null(strstr(err.text, "nests at most"));
	assert_int_equal(td_vcd_writer_begin(w, TD_NEVER, &err), -1);
	assert_non_null(strstr(err.text, "cannot begin"));
	assert_int_equal(td_vcd_writer_begin(w, 0, NULL), 0);
	td_vcd_writer_free(w);
	small_disk_close(&disk);
}

static void a_head_with_a_text_that_breaks_the_file_is_refused(void **state)
{
	struct small_disk disk;

	(void)state;
	small_disk_open(&disk, 1000);
	assert_null(td_vcd_writer_new(disk.file, &(struct td_vcd_head){.version = "1 $end 2"}, NULL));
	small_disk_close(&disk);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_disk_may_be_full_at_any_write),
		cmocka_unit_test(a_file_that_has_failed_before_is_not_begun),
		cmocka_unit_test(no_more_scopes_inside_each_other_than_can_be_read),
		cmocka_unit_test(a_head_with_a_text_that_breaks_the_file_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
