/* SPDX-License-Identifier: MIT */
/* The kept record as a file: what is damaged, foreign or unreadable reads as the worst; and the shelf it comes over. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/scribe/record_file.h"
#include "daemon/scribe/shelf.h"
#include "tests/support/cart.h"

enum { MACHINE = 77, FILE_MAX = 2 * TD_KEEP_SIZE };

static char dir[] = "/tmp/tripdog-record-XXXXXX";
static char path[64];
static struct td_shelf_record record;
static struct td_keep kept, worst;
static td_ns taken_ns;
static struct td_error err;

static int set_up(void **state)
{
	(void)state;
	if (!mkdtemp(dir))
		return -1;
	(void)snprintf(path, sizeof(path), "%s/" TD_RECORD_FILE, dir);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	(void)unlink(path);
	return rmdir(dir);
}

/* Taken at 100 s, an axis of it warm. */
static void save(void)
{
	td_keep_init(&kept, 0);
	kept.axis[1].duty.theta = 12345678;
	kept.axis[1].duty.since_ns = TD_S(90);
	td_keep_take(&kept, MACHINE, TD_S(100), record.bytes);
	record.taken_ns = TD_S(100);
	assert_int_equal(td_record_save(dir, &record, &err), 0);
}

static int load(uint32_t machine, td_ns now_ns)
{
	err.text[0] = '\0';
	return td_record_load(dir, machine, now_ns, &kept, &taken_ns, &err);
}

static size_t get(uint8_t *bytes)
{
	FILE *file = fopen(path, "r");

	assert_non_null(file);
	size_t count = fread(bytes, 1, FILE_MAX, file);

	assert_int_equal(fclose(file), 0);
	return count;
}

static void put(const uint8_t *bytes, size_t count)
{
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	assert_int_equal(fwrite(bytes, 1, count, file), count);
	assert_int_equal(fclose(file), 0);
}

static void check_worst(void)
{
	td_keep_init_unknown(&worst, TD_S(130));
	assert_memory_equal(&kept, &worst, sizeof(kept));
	assert_non_null(strstr(err.text, TD_RECORD_FILE));
	assert_non_null(strstr(err.text, "counts as hot"));
}

static void no_file_is_the_first_start(void **state)
{
	(void)state;
	(void)unlink(path);
	assert_int_equal(load(MACHINE, TD_S(130)), 0);
	assert_int_equal(kept.latched, 0);
	assert_int_equal(kept.closed, 1);
	assert_true(kept.axis[1].duty.theta == 0);
	assert_true(taken_ns == TD_S(130));
}

static void within_one_boot_the_motors_have_rested_since(void **state)
{
	(void)state;
	save();
	assert_int_equal(load(MACHINE, TD_S(130)), 0);
	assert_true(kept.axis[1].duty.theta == 12345678);
	assert_true(kept.axis[1].duty.since_ns == TD_S(90));
	assert_true(taken_ns == TD_S(100));
}

/* A clock that reads less than when it was taken is another one: no time has passed. */
static void of_another_boot_no_time_has_passed(void **state)
{
	static uint8_t bytes[FILE_MAX];

	(void)state;
	save();
	assert_int_equal(load(MACHINE, TD_S(50)), 0);
	assert_true(kept.axis[1].duty.since_ns == TD_S(40));
	size_t count = get(bytes);

	bytes[TD_KEEP_SIZE] ^= 1; /* the name of the boot */
	put(bytes, count);
	assert_int_equal(load(MACHINE, TD_S(130)), 0);
	assert_true(kept.axis[1].duty.since_ns == TD_S(120));
	assert_true(taken_ns == TD_S(130));
	put(bytes, TD_KEEP_SIZE); /* no trailer at all */
	assert_int_equal(load(MACHINE, TD_S(130)), 0);
	assert_true(kept.axis[1].duty.since_ns == TD_S(120));
}

static void r12_anything_damaged_is_the_worst(void **state)
{
	static uint8_t bytes[FILE_MAX];
	static uint8_t broken[FILE_MAX];

	(void)state;
	save();
	size_t count = get(bytes);

	for (size_t at = 0; at < TD_KEEP_SIZE; at += at < 64 ? 1 : 97) {
		memcpy(broken, bytes, count);
		broken[at] ^= 0x10;
		put(broken, count);
		assert_int_equal(load(MACHINE, TD_S(130)), -1);
		check_worst();
	}
	for (size_t cut = 0; cut < count; cut += 131) {
		if (cut == TD_KEEP_SIZE)
			continue;
		put(bytes, cut);
		assert_int_equal(load(MACHINE, TD_S(130)), -1);
		check_worst();
	}
	memcpy(broken, bytes, count);
	put(broken, count + 1);
	assert_int_equal(load(MACHINE, TD_S(130)), -1);
	check_worst();
}

static void another_machine_and_what_cannot_be_read_are_the_worst(void **state)
{
	(void)state;
	save();
	assert_int_equal(load(MACHINE + 1, TD_S(130)), -1);
	check_worst();
	assert_non_null(strstr(err.text, "other axes"));
	assert_int_equal(unlink(path), 0);
	assert_int_equal(mkdir(path, 0700), 0);
	assert_int_equal(load(MACHINE, TD_S(130)), -1);
	check_worst();
	assert_int_equal(rmdir(path), 0);
	assert_int_equal(td_record_load("/nowhere", MACHINE, TD_S(130), &kept, &taken_ns, &err), -1);
	assert_non_null(strstr(err.text, "must exist"));
	assert_int_equal(td_record_save("/nowhere", &record, &err), -1);
	assert_non_null(strstr(err.text, "must exist"));
}

static void machines_with_other_names_are_other_machines(void **state)
{
	struct td_config config = cart_config();
	uint32_t before = td_record_machine(&config);

	(void)state;
	config.rules.axis[0].dead_ns++;
	assert_true(td_record_machine(&config) == before);
	config.axis[0].way_name[1][0] ^= 1;
	assert_false(td_record_machine(&config) == before);
	config = cart_config();
	config.axes--;
	assert_false(td_record_machine(&config) == before);
}

/* --- the shelf --------------------------------------------------------------------------------------- */

static void the_newest_record_is_taken_once(void **state)
{
	struct td_shelf *shelf = td_shelf_make(sizeof(record), &err);
	struct td_shelf_record *place = NULL;
	uint32_t taken = 0;

	(void)state;
	assert_non_null(shelf);
	assert_false(td_shelf_take(shelf, &taken, &record));
	for (uint8_t i = 1; i <= 3; i++) {
		place = td_shelf_place(shelf);
		place->bytes[0] = i;
		td_shelf_lay(shelf);
	}
	place = td_shelf_place(shelf);
	place->bytes[0] = 9; /* being written: not laid yet */
	assert_true(td_shelf_take(shelf, &taken, &record));
	assert_int_equal(record.bytes[0], 3);
	assert_false(td_shelf_take(shelf, &taken, &record));
	td_shelf_lay(shelf);
	assert_true(td_shelf_take(shelf, &taken, &record));
	assert_int_equal(record.bytes[0], 9);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(no_file_is_the_first_start),
		cmocka_unit_test(within_one_boot_the_motors_have_rested_since),
		cmocka_unit_test(of_another_boot_no_time_has_passed),
		cmocka_unit_test(r12_anything_damaged_is_the_worst),
		cmocka_unit_test(another_machine_and_what_cannot_be_read_are_the_worst),
		cmocka_unit_test(machines_with_other_names_are_other_machines),
		cmocka_unit_test(the_newest_record_is_taken_once),
	};

	return cmocka_run_group_tests_name("the kept record as a file", tests, set_up, tear_down);
}
