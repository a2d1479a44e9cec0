/* SPDX-License-Identifier: MIT */
/* td_config_read(): what is no file, cannot be read, or is too long. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "config_base.h"

static struct reading reading;
static char directory[] = "/tmp/tripdog-config-XXXXXX";
static char path[64];

static int make_directory(void **state)
{
	(void)state;
	if (!mkdtemp(directory))
		return -1;
	snprintf(path, sizeof(path), "%s/a.conf", directory);
	return 0;
}

static int remove_directory(void **state)
{
	(void)state;
	return rmdir(directory);
}

static void write_file(const char *text, size_t length)
{
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	assert_int_equal(fwrite(text, 1, length, file), length);
	assert_int_equal(fclose(file), 0);
}

static void read_path(const char *from)
{
	memset(&reading, 0x5a, sizeof(reading));
	reading.good = td_config_read(from, &reading.config, &reading.faults);
}

static void expect_one_fault(const char *part)
{
	static const struct td_config nothing;

	assert_false(reading.good);
	assert_int_equal(reading.faults.count, 1);
	assert_non_null(strstr(reading.faults.fault[0].text, part));
	assert_memory_equal(&reading.config, &nothing, sizeof(nothing));
}

static void a_good_file(void **state)
{
	static char text[BASE_TEXT_MAX];

	(void)state;
	write_file(text, base_with(NULL, 0, text));
	read_path(path);
	assert_int_equal(unlink(path), 0);
	assert_true(reading.good);
	assert_int_equal(reading.config.axes, 3);
}

/* The file may be replaced right after it was read: what a trace carries is what was parsed. */
static void the_bytes_that_were_read_are_kept(void **state)
{
	static char text[BASE_TEXT_MAX];
	struct td_config_text kept;
	size_t length = base_with(NULL, 0, text);

	(void)state;
	write_file(text, length);
	assert_true(td_config_read_kept(path, &reading.config, &reading.faults, &kept));
	assert_int_equal(unlink(path), 0);
	assert_int_equal(kept.length, length);
	assert_memory_equal(kept.bytes, text, length);
	free(kept.bytes);
	assert_false(td_config_read_kept(path, &reading.config, &reading.faults, &kept));
	assert_null(kept.bytes);
	assert_int_equal(kept.length, 0);
}

static void faults_carry_the_path_and_the_line(void **state)
{
	char start[96];

	(void)state;
	write_file("\n[machin]\n", 10);
	read_path(path);
	assert_int_equal(unlink(path), 0);
	snprintf(start, sizeof(start), "%s:2: unknown section [machin]", path);
	assert_false(reading.good);
	assert_true(has_fault(&reading, start));
}

static void no_such_file(void **state)
{
	(void)state;
	read_path(path);
	expect_one_fault(
		"/a.conf: there is no configuration yet, so nothing is driven; tripdog.conf(5) says how");
}

static void a_path_through_a_file(void **state)
{
	(void)state;
	read_path("/dev/null/a.conf");
	expect_one_fault("/a.conf: cannot open the configuration file: Not a directory; check its path");
}

static void a_directory(void **state)
{
	(void)state;
	read_path(directory);
	expect_one_fault(": this is not a regular file; name the configuration file itself");
}

static void a_fifo_does_not_hang(void **state)
{
	(void)state;
	assert_int_equal(mkfifo(path, 0600), 0);
	read_path(path);
	assert_int_equal(unlink(path), 0);
	expect_one_fault("not a regular file");
}

static void a_device(void **state)
{
	(void)state;
	read_path("/dev/zero");
	expect_one_fault("/dev/zero: this is not a regular file");
}

/* The memory of a process is a regular file to the kernel, and nothing is mapped at its beginning. */
static void a_file_that_cannot_be_read(void **state)
{
	(void)state;
	read_path("/proc/self/mem");
	expect_one_fault(
		"/proc/self/mem: cannot read the configuration file: Input/output error; check the file");
}

static void a_file_that_is_too_long(void **state)
{
	static char text[65537];

	(void)state;
	memset(text, '\n', sizeof(text));
	write_file(text, sizeof(text));
	read_path(path);
	assert_int_equal(unlink(path), 0);
	expect_one_fault(": the file is too long; allowed: at most 65536 bytes");
}

static void an_empty_file(void **state)
{
	(void)state;
	write_file("", 0);
	read_path(path);
	assert_int_equal(unlink(path), 0);
	expect_one_fault(":1: the file has no [axis NAME] section");
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_good_file),
		cmocka_unit_test(the_bytes_that_were_read_are_kept),
		cmocka_unit_test(faults_carry_the_path_and_the_line),
		cmocka_unit_test(no_such_file),
		cmocka_unit_test(a_path_through_a_file),
		cmocka_unit_test(a_directory),
		cmocka_unit_test(a_fifo_does_not_hang),
		cmocka_unit_test(a_device),
		cmocka_unit_test(a_file_that_cannot_be_read),
		cmocka_unit_test(a_file_that_is_too_long),
		cmocka_unit_test(an_empty_file),
	};

	return cmocka_run_group_tests_name("config_file", tests, make_directory, remove_directory);
}
