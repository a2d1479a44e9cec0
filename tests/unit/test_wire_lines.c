/* SPDX-License-Identifier: MIT */
/* From bytes to lines, however the bytes are cut. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "wire/line_buffer.h"

/* What came out, each line in angle brackets; "!" for too long. */
struct seen {
	char text[3 * TD_LINE_MAX];
	size_t length;
};

static bool drain(struct td_line_buffer *buffer, struct seen *seen)
{
	const char *line = NULL;
	size_t length = 0;
	enum td_line_result result;

	while ((result = td_line_next(buffer, &line, &length)) == TD_LINE_READY)
		seen->length += (size_t)snprintf(seen->text + seen->length, sizeof(seen->text) - seen->length,
						 "<%.*s>", (int)length, line);
	if (result == TD_LINE_TOO_LONG)
		seen->length +=
			(size_t)snprintf(seen->text + seen->length, sizeof(seen->text) - seen->length, "!");
	return result == TD_LINE_NONE;
}

static void feed(struct td_line_buffer *buffer, const char *bytes, size_t count, struct seen *seen)
{
	while (count > 0) {
		size_t room = 0;
		char *space = td_line_space(buffer, &room);
		size_t some = count < room ? count : room;

		assert_true(room > 0);
		memcpy(space, bytes, some);
		td_line_filled(buffer, some);
		bytes += some;
		count -= some;
		if (!drain(buffer, seen))
			return;
	}
}

static const char three[] = "{\"a\":\"\xc3\xa4\"}\n[1]\r\n\"\xe2\x80\xa8\xf0\x9d\x84\x9e\"\n";
static const char three_seen[] = "<{\"a\":\"\xc3\xa4\"}><[1]><\"\xe2\x80\xa8\xf0\x9d\x84\x9e\">";

static void test_two_reads_cut_at_any_byte_give_the_same_lines(void **state)
{
	(void)state;
	for (size_t cut = 0; cut <= sizeof(three) - 1; cut++) {
		struct td_line_buffer buffer = {0};
		struct seen seen = {.length = 0};

		feed(&buffer, three, cut, &seen);
		feed(&buffer, three + cut, sizeof(three) - 1 - cut, &seen);
		assert_string_equal(seen.text, three_seen);
	}
}

static void test_one_byte_at_a_time_gives_the_same_lines(void **state)
{
	struct td_line_buffer buffer = {0};
	struct seen seen = {.length = 0};

	(void)state;
	for (size_t i = 0; i < sizeof(three) - 1; i++)
		feed(&buffer, three + i, 1, &seen);
	assert_string_equal(seen.text, three_seen);
}

static const struct {
	const char *name;
	const char *bytes;
	const char *seen;
} cases[] = {
	{"an empty line is a line", "\n", "<>"},
	{"a line end of two bytes", "a\r\n", "<a>"},
	{"only one \\r is dropped", "a\r\r\n", "<a\r>"},
	{"\\r alone ends nothing", "a\rb\n", "<a\rb>"},
	{"U+2028 ends nothing",
	 "a\xe2\x80\xa8"
	 "b\n",
	 "<a\xe2\x80\xa8"
	 "b>"},
	{"U+0085 ends nothing",
	 "a\xc2\x85"
	 "b\n",
	 "<a\xc2\x85"
	 "b>"},
	{"form feed ends nothing", "a\fb\n", "<a\fb>"},
	{"many at once", "a\nb\n\nc\n", "<a><b><><c>"},
	{"what has no end yet is kept back", "a\nb", "<a>"},
};

static void test_only_a_newline_ends_a_line(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct td_line_buffer buffer = {0};
		struct seen seen = {.length = 0};

		print_message("# %s\n", cases[i].name);
		feed(&buffer, cases[i].bytes, strlen(cases[i].bytes), &seen);
		assert_string_equal(seen.text, cases[i].seen);
	}
}

static void test_a_line_of_the_limit_passes_and_one_byte_more_does_not(void **state)
{
	static char bytes[TD_LINE_MAX + 2];

	(void)state;
	for (size_t over = 0; over < 2; over++) {
		struct td_line_buffer buffer = {0};
		struct seen seen = {.length = 0};

		memset(bytes, 'x', sizeof(bytes));
		bytes[TD_LINE_MAX + over] = '\n';
		feed(&buffer, bytes, TD_LINE_MAX + 1 + over, &seen);
		if (over == 0)
			assert_int_equal(seen.length, TD_LINE_MAX + 2);
		else
			assert_string_equal(seen.text, "!");
	}
}

static void test_lines_before_one_that_is_too_long_still_come_out(void **state)
{
	static char bytes[3 + TD_LINE_MAX + 1];
	struct td_line_buffer buffer = {0};
	struct seen seen = {.length = 0};

	(void)state;
	memset(bytes, 'x', sizeof(bytes));
	bytes[2] = '\n';
	feed(&buffer, bytes, sizeof(bytes), &seen);
	assert_string_equal(seen.text, "<xx>!");
}

/* --- ahead of others -------------------------------------------------------------------------------------- */

static void fill(struct td_line_buffer *buffer, const char *bytes)
{
	size_t room = 0;
	char *space = td_line_space(buffer, &room);

	size_t count = 0;

	for (; bytes[count]; count++)
		space[count] = bytes[count];
	assert_true(count <= room);
	td_line_filled(buffer, count);
}

/* Looks at all that was not looked at; takes out what begins with '!', the first at `at_ns`, each later. */
static td_ns look_through(struct td_line_buffer *buffer, td_ns at_ns)
{
	const char *line = NULL;
	size_t length = 0;

	while (td_line_look(buffer, &line, &length))
		if (length > 0 && line[0] == '!')
			td_line_take_out(buffer, at_ns++);
	return at_ns;
}

/* The next line is this one, and was passed then. */
static void expect_line(struct td_line_buffer *buffer, const char *text, td_ns passed_ns)
{
	const char *line = NULL;
	size_t length = 0;

	assert_true(td_line_waits(buffer));
	assert_int_equal(td_line_next(buffer, &line, &length), TD_LINE_READY);
	assert_int_equal(length, strlen(text));
	assert_memory_equal(line, text, length);
	if (td_line_passed(buffer, line) != passed_ns)
		fail_msg("%s: passed at %lld instead of %lld", text, (long long)td_line_passed(buffer, line),
			 (long long)passed_ns);
}

static void test_R7_what_is_taken_out_is_known_to_the_lines_before_it_and_to_no_others(void **state)
{
	struct td_line_buffer buffer = {0};

	(void)state;
	fill(&buffer, "!0\na\nb\r\n!1\n!2\nc\n!3\nd\nrest");
	assert_true(look_through(&buffer, 10) == 14);
	expect_line(&buffer, "a", 11);
	fill(&buffer, "1\ne\n!4\nf");
	assert_true(look_through(&buffer, 20) == 21);
	expect_line(&buffer, "b", 11);
	expect_line(&buffer, "c", 13);
	expect_line(&buffer, "d", 20);
	expect_line(&buffer, "rest1", 20);
	expect_line(&buffer, "e", 20);
	assert_false(td_line_waits(&buffer));
	fill(&buffer, "\n");
	expect_line(&buffer, "f", TD_NEVER);
}

/* What no longer fits among the marks counts as passed earlier: it starts nothing that it should not. */
static void test_R7_with_too_many_taken_out_the_time_is_an_earlier_one(void **state)
{
	struct td_line_buffer buffer = {0};
	char name[16];

	(void)state;
	for (int i = 0; i < 3 * TD_LINE_MARKS; i++) {
		(void)snprintf(name, sizeof(name), "%d\n!\n", i);
		fill(&buffer, name);
		(void)look_through(&buffer, 100 + i);
	}
	for (int i = 0; i < 3 * TD_LINE_MARKS; i++) {
		(void)snprintf(name, sizeof(name), "%d", i);
		expect_line(&buffer, name, i < TD_LINE_MARKS ? 100 + i : 100 + TD_LINE_MARKS - 1);
	}
}

/* The buffer goes round many times, with lines waiting in it all the while. */
static void test_marks_stay_with_their_lines_while_the_buffer_moves(void **state)
{
	static struct td_line_buffer buffer;
	char line[400];

	(void)state;
	memset(&buffer, 0, sizeof(buffer));
	for (int i = 0; i < 5000; i++) {
		(void)snprintf(line, sizeof(line), "%0*d\n%s", 1 + i * 7 % 300, i, i % 5 == 3 ? "!\n" : "");
		fill(&buffer, line);
		(void)look_through(&buffer, i);
		if (i < 20)
			continue;
		int taken = i - 20;
		int stop = taken + (8 - taken % 5) % 5; /* the next of 3, 8, 13 ... */

		(void)snprintf(line, sizeof(line), "%0*d", 1 + taken * 7 % 300, taken);
		expect_line(&buffer, line, stop <= i ? stop : TD_NEVER);
	}
}

static void test_a_full_buffer_says_so_and_takes_more_when_lines_are_taken(void **state)
{
	static struct td_line_buffer buffer;
	static char line[TD_LINE_MAX + 2];
	size_t room = 0;
	int lines = 0;

	(void)state;
	memset(&buffer, 0, sizeof(buffer));
	memset(line, 'x', TD_LINE_MAX);
	line[TD_LINE_MAX] = '\n';
	for (; td_line_space(&buffer, &room) && room > TD_LINE_MAX; lines++)
		fill(&buffer, line);
	assert_int_equal(lines, TD_LINES_WAITING_MAX / (TD_LINE_MAX + 1));
	line[TD_LINE_MAX] = '\0';
	expect_line(&buffer, line, TD_NEVER);
	(void)td_line_space(&buffer, &room);
	assert_true(room > TD_LINE_MAX);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_two_reads_cut_at_any_byte_give_the_same_lines),
		cmocka_unit_test(test_one_byte_at_a_time_gives_the_same_lines),
		cmocka_unit_test(test_only_a_newline_ends_a_line),
		cmocka_unit_test(test_a_line_of_the_limit_passes_and_one_byte_more_does_not),
		cmocka_unit_test(test_lines_before_one_that_is_too_long_still_come_out),
		cmocka_unit_test(test_R7_what_is_taken_out_is_known_to_the_lines_before_it_and_to_no_others),
		cmocka_unit_test(test_R7_with_too_many_taken_out_the_time_is_an_earlier_one),
		cmocka_unit_test(test_marks_stay_with_their_lines_while_the_buffer_moves),
		cmocka_unit_test(test_a_full_buffer_says_so_and_takes_more_when_lines_are_taken),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
