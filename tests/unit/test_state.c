/* SPDX-License-Identifier: MIT */
/* R10: the latched stop outlives a power loss, and whatever the disk makes of the file, doubt reads as
 * "on". */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/crc.h"
#include "daemon/state.h"

static char dir[] = "/tmp/tripdog-state-XXXXXX";
static char path[64];

static int setup(void **state)
{
	(void)state;
	if (!mkdtemp(dir))
		return -1;
	(void)snprintf(path, sizeof(path), "%s/" TD_STATE_FILE, dir);
	return 0;
}

static int teardown(void **state)
{
	(void)state;
	unlink(path);
	return rmdir(dir);
}

static void put(const char *bytes, size_t count)
{
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	assert_int_equal(fwrite(bytes, 1, count, file), count);
	assert_int_equal(fclose(file), 0);
}

static size_t get(char bytes[200])
{
	FILE *file = fopen(path, "r");

	assert_non_null(file);
	size_t count = fread(bytes, 1, 200, file);
	(void)fclose(file);
	return count;
}

static bool loads_as_latched(int expected)
{
	struct td_state state = {.latched = false};
	struct td_error err = {.text = ""};

	assert_int_equal(td_state_load(dir, &state, &err), expected);
	if (expected != 0)
		assert_non_null(strstr(err.text, "the latched stop counts as on"));
	return state.latched;
}

static void save(bool latched)
{
	const struct td_state state = {.latched = latched};
	struct td_error err = {.text = ""};

	if (td_state_save(dir, &state, &err) != 0)
		fail_msg("%s", err.text);
}

static void test_R10_no_file_is_a_first_start_and_reads_as_off(void **state)
{
	(void)state;
	unlink(path);
	assert_false(loads_as_latched(0));
}

static void test_R10_what_is_saved_is_read_back(void **state)
{
	struct stat what;

	(void)state;
	for (int i = 0; i < 4; i++) {
		save(i % 2 == 0);
		assert_int_equal(loads_as_latched(0), i % 2 == 0);
	}
	assert_int_equal(stat(path, &what), 0);
	assert_int_equal(what.st_mode & 0777, 0600);
}

static void test_R10_every_truncation_reads_as_on(void **state)
{
	char bytes[200];

	(void)state;
	save(false);
	size_t count = get(bytes);
	for (size_t cut = 0; cut < count; cut++) {
		put(bytes, cut);
		assert_true(loads_as_latched(-1));
	}
	put(bytes, count);
	assert_false(loads_as_latched(0));
}

static void test_R10_every_flipped_bit_reads_as_on(void **state)
{
	char bytes[200];

	(void)state;
	save(false);
	size_t count = get(bytes);
	for (size_t bit = 0; bit < 8 * count; bit++) {
		bytes[bit / 8] = (char)(bytes[bit / 8] ^ (1 << bit % 8));
		put(bytes, count);
		assert_true(loads_as_latched(-1));
		bytes[bit / 8] = (char)(bytes[bit / 8] ^ (1 << bit % 8));
	}
	print_message("# counted: %zu single-bit faults and %zu truncations read as latched\n", 8 * count,
		      count);
}

static void test_R10_anything_added_or_missing_reads_as_on(void **state)
{
	char bytes[201];
	static const char *const others[] = {"", "\n", "latched off\n",
					     "tripdog latched-stop 2\nlatched off\nsum 00000000\n"};

	(void)state;
	save(false);
	size_t count = get(bytes);
	bytes[count] = '\n';
	put(bytes, count + 1);
	assert_true(loads_as_latched(-1));
	for (size_t i = 0; i < sizeof(others) / sizeof(others[0]); i++) {
		put(others[i], strlen(others[i]));
		assert_true(loads_as_latched(-1));
	}
}

static void test_R10_what_is_no_file_reads_as_on_and_is_left_alone(void **state)
{
	struct stat what;

	(void)state;
	unlink(path);
	assert_int_equal(symlink("/dev/null", path), 0);
	assert_true(loads_as_latched(-1));
	unlink(path);
	assert_int_equal(mkfifo(path, 0600), 0);
	assert_true(loads_as_latched(-1));
	unlink(path);
	assert_int_equal(mkdir(path, 0700), 0);
	assert_true(loads_as_latched(-1));
	assert_int_equal(stat(path, &what), 0);
	assert_int_equal(rmdir(path), 0);
}

static void test_R10_a_missing_directory_reads_as_on_and_cannot_be_saved_to(void **state)
{
	struct td_state what = {.latched = false};
	struct td_error err = {.text = ""};

	(void)state;
	assert_int_equal(td_state_load("/tmp/tripdog-no-such-directory", &what, &err), -1);
	assert_true(what.latched);
	assert_non_null(strstr(err.text, "must exist"));
	assert_int_equal(td_state_save("/tmp/tripdog-no-such-directory", &what, &err), -1);
}

/* A save that fails leaves the old file as it was. */
static void test_R10_a_save_that_fails_leaves_the_old_state(void **state)
{
	const struct td_state off = {.latched = false};
	struct td_error err = {.text = ""};
	char in_the_way[80];

	(void)state;
	save(true);
	(void)snprintf(in_the_way, sizeof(in_the_way), "%s.new", path);
	assert_int_equal(mkdir(in_the_way, 0700), 0);
	assert_int_equal(td_state_save(dir, &off, &err), -1);
	assert_non_null(strstr(err.text, "not kept over a restart"));
	assert_true(loads_as_latched(0));
	assert_int_equal(rmdir(in_the_way), 0);
}

/* The leftovers of a power loss between writing and renaming do no harm. */
static void test_R10_a_half_written_new_file_is_ignored_and_replaced(void **state)
{
	char beside[80];

	(void)state;
	save(true);
	(void)snprintf(beside, sizeof(beside), "%s.new", path);
	FILE *file = fopen(beside, "w");
	assert_non_null(file);
	(void)fputs("tripdog latched-stop 1\nlatched o", file);
	(void)fclose(file);
	assert_true(loads_as_latched(0));
	save(false);
	assert_false(loads_as_latched(0));
	assert_int_not_equal(access(beside, F_OK), 0);
}

/* "123456789" gives 0xcbf43926: the customary check value of this CRC; zlib's crc32() gives the same, and
 * 0x00000000 for nothing and 0xe8b7be43 for "a". */
static void test_the_checksum_is_the_one_zlib_has(void **state)
{
	(void)state;
	assert_int_equal(td_crc32("123456789", 9), 0xcbf43926);
	assert_int_equal(td_crc32("", 0), 0);
	assert_int_equal(td_crc32("a", 1), 0xe8b7be43);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_R10_no_file_is_a_first_start_and_reads_as_off),
		cmocka_unit_test(test_R10_what_is_saved_is_read_back),
		cmocka_unit_test(test_R10_every_truncation_reads_as_on),
		cmocka_unit_test(test_R10_every_flipped_bit_reads_as_on),
		cmocka_unit_test(test_R10_anything_added_or_missing_reads_as_on),
		cmocka_unit_test(test_R10_what_is_no_file_reads_as_on_and_is_left_alone),
		cmocka_unit_test(test_R10_a_missing_directory_reads_as_on_and_cannot_be_saved_to),
		cmocka_unit_test(test_R10_a_save_that_fails_leaves_the_old_state),
		cmocka_unit_test(test_R10_a_half_written_new_file_is_ignored_and_replaced),
		cmocka_unit_test(test_the_checksum_is_the_one_zlib_has),
	};

	return cmocka_run_group_tests(tests, setup, teardown);
}
