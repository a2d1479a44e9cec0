/* SPDX-License-Identifier: MIT */
/*
 * Any bytes: cut, changed and random files. Whatever comes in, the reader ends, says something about
 * every file it refuses, and what it accepts is a rule set the core accepts.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "config_base.h"

static struct reading reading;
static char example[BASE_TEXT_MAX];
static size_t example_length;

/* An exact copy on the heap, so that a sanitizer sees a read past its end. */
static void read_exactly(const char *text, size_t length)
{
	static const struct td_config nothing;
	char *copy = malloc(length > 0 ? length : 1);

	assert_non_null(copy);
	memcpy(copy, text, length);
	read_text(&reading, copy, length);
	free(copy);
	assert_int_equal(reading.good, reading.faults.count == 0);
	for (size_t i = 0; i < reading.faults.count && i < TD_FAULTS_MAX; i++)
		assert_int_equal(strncmp(reading.faults.fault[i].text, "x.conf:", 7), 0);
	if (reading.good)
		assert_int_equal(td_rules_check(&reading.config.rules).fault, TD_RULES_OK);
	else
		assert_memory_equal(&reading.config, &nothing, sizeof(nothing));
}

static int load_example(void **state)
{
	FILE *file = fopen("docs/examples/glasshouse.conf", "r");

	(void)state;
	if (!file)
		return -1;
	example_length = fread(example, 1, sizeof(example), file);
	fclose(file);
	return example_length > 1000 ? 0 : -1;
}

static void every_beginning_of_the_example(void **state)
{
	size_t good = 0;

	(void)state;
	for (size_t length = 0; length <= example_length; length++) {
		read_exactly(example, length);
		good += reading.good;
	}
	/* only within the last section: from its first possible line name on, with and without line ends */
	assert_in_range(good, 2, 40);
	printf("# measured: %zu beginnings read, %zu of them complete\n", example_length + 1, good);
}

static void every_byte_replaced(void **state)
{
	static const char nasty[] = {'\0', '\n', '[', '=', ' ', '\xff', '9'};
	size_t refused = 0;

	(void)state;
	for (size_t at = 0; at < example_length; at++) {
		char former = example[at];

		for (size_t i = 0; i < sizeof(nasty); i++) {
			example[at] = nasty[i];
			read_exactly(example, example_length);
			refused += !reading.good;
		}
		example[at] = former;
	}
	printf("# measured: %zu changed files read, %zu refused\n", example_length * sizeof(nasty), refused);
	assert_true(refused > example_length);
}

static void every_byte_left_out(void **state)
{
	static char shorter[BASE_TEXT_MAX];

	(void)state;
	for (size_t at = 0; at < example_length; at++) {
		memcpy(shorter, example, at);
		memcpy(shorter + at, example + at + 1, example_length - at - 1);
		read_exactly(shorter, example_length - 1);
	}
}

/* A small generator (xorshift, 64 bits); the seed is fixed and printed. */
static uint64_t next_random(uint64_t *random)
{
	*random ^= *random << 13;
	*random ^= *random >> 7;
	*random ^= *random << 17;
	return *random;
}

static void random_lines(void **state)
{
	static const char *const pieces[] = {
		"[",    "]",          "axis ", "way ",       "switch ",        "a",
		"b",    " ",          "\n",    "=",          "ways",           "input",
		"line", "bars",       "x:1",   "end_switch", "moving ",        "at-end ",
		",",    ";",          "#",     "\r\n",       "\xc2",           "\x80",
		"0",    "4294967296", "\"",    "machine",    "emergency_stop", "mode",
		":",    "\t"};
	enum { FILES = 3000, PIECES_MAX = 200 };
	static char text[BASE_TEXT_MAX];
	uint64_t random = UINT64_C(20261125);

	(void)state;
	printf("# seed %llu\n", (unsigned long long)random);
	for (int file = 0; file < FILES; file++) {
		size_t length = 0;

		for (uint64_t i = next_random(&random) % PIECES_MAX; i > 0; i--)
			length += (size_t)snprintf(
				text + length, sizeof(text) - length, "%s",
				pieces[next_random(&random) % (sizeof(pieces) / sizeof(pieces[0]))]);
		read_exactly(text, length);
		assert_false(reading.good);
	}
}

static void no_bytes_at_all(void **state)
{
	(void)state;
	read_exactly("", 0);
	assert_int_equal(reading.faults.count, 1);
	assert_true(has_fault(&reading, "x.conf:1: the file has no [axis NAME] section; allowed: 1 to 16"));
}

static void a_nul_byte(void **state)
{
	static const char text[] = "[machine]\nname = a\0b\n";

	(void)state;
	read_exactly(text, sizeof(text) - 1);
	assert_true(has_fault(&reading, "x.conf:2: the line has a NUL byte"));
}

static void a_file_one_byte_too_long(void **state)
{
	static char text[BASE_TEXT_MAX];
	size_t length = base_with(NULL, 0, text);

	(void)state;
	memset(text + length, '\n', sizeof(text) - length);
	read_exactly(text, 65536);
	assert_true(reading.good);
	read_exactly(text, 65537);
	assert_int_equal(reading.faults.count, 1);
	assert_string_equal(
		reading.faults.fault[0].text,
		"x.conf: the file is too long; allowed: at most 65536 bytes; is it the right file?");
}

static void more_faults_than_are_kept(void **state)
{
	static char text[BASE_TEXT_MAX];
	size_t length = 0;

	(void)state;
	for (int i = 0; i < 150; i++)
		length += (size_t)snprintf(text + length, sizeof(text) - length, "line %d\n", i + 1);
	read_exactly(text, length);
	assert_int_equal(reading.faults.count, 151); /* and no axis, reported last, but for line 1 */
	assert_int_equal(strncmp(reading.faults.fault[0].text, "x.conf:1: neither", 17), 0);
	assert_int_equal(strncmp(reading.faults.fault[1].text, "x.conf:1: the file has no [axis", 31), 0);
	assert_int_equal(strncmp(reading.faults.fault[99].text, "x.conf:99: neither", 18), 0);
}

static void too_many_axes(void **state)
{
	static char text[BASE_TEXT_MAX];
	size_t length = 0;

	(void)state;
	for (int i = 0; i < TD_AXES_MAX + 2; i++)
		length += (size_t)snprintf(
			text + length, sizeof(text) - length,
			"[axis a%d]\nways = b c\n[way a%d b]\ninput = x:%d\nhold_limit_ms = 10\n"
			"[way a%d c]\ninput = y:%d\nhold_limit_ms = 10\n",
			i, i, i, i, i);
	read_exactly(text, length);
	assert_int_equal(reading.faults.count, 1);
	assert_true(has_fault(&reading, "x.conf:129: too many [axis NAME] sections; allowed: at most 16"));
}

static void too_many_switches(void **state)
{
	static char text[BASE_TEXT_MAX];
	size_t length = base_with(NULL, 0, text);

	(void)state;
	for (int i = 0; i < 31; i++)
		length += (size_t)snprintf(text + length, sizeof(text) - length,
					   "[switch s%d]\nline = z:%d\n", i, i);
	read_exactly(text, length);
	assert_true(has_fault(&reading, "x.conf:100: too many [switch NAME] sections; allowed: at most 32"));
	assert_int_equal(reading.faults.count, 1 + 31); /* and each of them is used nowhere */
}

static void too_many_sections(void **state)
{
	static char text[BASE_TEXT_MAX];
	size_t length = 0;

	(void)state;
	for (int i = 0; i < 140; i++)
		length += (size_t)snprintf(text + length, sizeof(text) - length,
					   "[switch s%d]\nline = z:%d\n", i, i);
	read_exactly(text, length);
	/* 128 unused, none more of the rest; too many switches; too many sections; no axis */
	assert_int_equal(reading.faults.count, 128 + 3);
}

static void a_failing_line_form_keeps_its_section_out(void **state)
{
	(void)state;
	read_edited(&reading, 8, "  [visitor\377]");
	assert_int_equal(reading.faults.count, 1); /* and not: key 'socket' stands twice */
	assert_true(has_fault(&reading, "x.conf:8: the line is not valid UTF-8"));
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(every_beginning_of_the_example, load_example),
		cmocka_unit_test_setup(every_byte_replaced, load_example),
		cmocka_unit_test_setup(every_byte_left_out, load_example),
		cmocka_unit_test(random_lines),
		cmocka_unit_test(no_bytes_at_all),
		cmocka_unit_test(a_nul_byte),
		cmocka_unit_test(a_file_one_byte_too_long),
		cmocka_unit_test(more_faults_than_are_kept),
		cmocka_unit_test(too_many_axes),
		cmocka_unit_test(too_many_switches),
		cmocka_unit_test(too_many_sections),
		cmocka_unit_test(a_failing_line_form_keeps_its_section_out),
	};

	return cmocka_run_group_tests_name("config_bytes", tests, NULL, NULL);
}
