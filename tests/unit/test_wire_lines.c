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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_two_reads_cut_at_any_byte_give_the_same_lines),
		cmocka_unit_test(test_one_byte_at_a_time_gives_the_same_lines),
		cmocka_unit_test(test_only_a_newline_ends_a_line),
		cmocka_unit_test(test_a_line_of_the_limit_passes_and_one_byte_more_does_not),
		cmocka_unit_test(test_lines_before_one_that_is_too_long_still_come_out),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
