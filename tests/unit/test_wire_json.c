/* SPDX-License-Identifier: MIT */
/*
 * What counts as a JSON text. The lines are our own; each cites the section of RFC 8259 (December 2017) it
 * follows from. Where that RFC leaves a choice to the parser (sections 4, 6, 8.2, 9) the line says so.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "wire/message.h"

struct line {
	const char *section;
	const char *text;
	size_t length;
};

#define L(section, text)                                                                                     \
	{                                                                                                    \
		section, text, sizeof(text) - 1                                                              \
	}

static const struct line accepted[] = {
	L("2 literals", "true"),
	L("2 literals", "false"),
	L("2 literals", "null"),
	L("2 blank before and after", " \t\r 1 \t\r "),
	L("2 blank around structure", "{ \"a\" : [ 1 , 2 ] }"),
	L("2 blank in empty object", "{ \t }"),
	L("2 blank in empty array", "[ \t ]"),
	L("2 any value is a text", "\"x\""),
	L("2 any value is a text", "0"),
	L("4 empty object", "{}"),
	L("4 one member", "{\"a\":1}"),
	L("4 two members", "{\"a\":1,\"b\":2}"),
	L("4 empty name", "{\"\":0}"),
	L("4 name with escape", "{\"\\u0061\\n\":0}"),
	L("4 nested", "{\"a\":{\"b\":{\"c\":[]}}}"),
	L("4 names differ by case", "{\"a\":1,\"A\":2}"),
	L("4 order is free", "{\"b\":1,\"a\":2}"),
	L("5 empty array", "[]"),
	L("5 mixed", "[1,\"a\",null,true,{}]"),
	L("5 nested", "[[],[[]]]"),
	L("5 same value twice", "[1,1]"),
	L("6 zero", "[0]"),
	L("6 minus zero", "[-0]"),
	L("6 negative", "[-12]"),
	L("6 fraction", "[0.5]"),
	L("6 fraction of zeros", "[1.000]"),
	L("6 small e", "[1e2]"),
	L("6 capital E", "[1E2]"),
	L("6 plus in exponent", "[1e+2]"),
	L("6 minus in exponent", "[1e-2]"),
	L("6 zero in exponent", "[1e00]"),
	L("6 minus zero with exponent", "[-0e+1]"),
	L("6 fraction and exponent", "[-1.25E-3]"),
	L("6 2^53-1", "[9007199254740991]"),
	L("6 -(2^53-1)", "[-9007199254740991]"),
	L("6 widest whole number here", "[9223372036854775807]"),
	L("6 tiny is rounded", "[1e-400]"),
	L("7 empty string", "\"\""),
	L("7 two-character escapes", "\"\\\" \\\\ \\/ \\b \\f \\n \\r \\t\""),
	L("7 \\u", "\"\\u0041\""),
	L("7 \\u small hex", "\"\\u00e4\""),
	L("7 \\u capital hex", "\"\\u00E4\""),
	L("7 surrogate pair", "\"\\uD834\\uDD1E\""),
	L("7 first pair", "\"\\ud800\\udc00\""),
	L("7 last pair", "\"\\udbff\\udfff\""),
	L("7 escaped control", "\"\\u001f\""),
	L("7 DEL needs no escape", "\"\x7f\""),
	L("7 slash needs no escape", "\"/\""),
	L("7 escaped backslash before the end", "\"a\\\\\""),
	L("7 structure inside a string", "\"[{,:]}\""),
	L("7 U+2028 raw", "\"\xe2\x80\xa8\""),
	L("7 U+2029 raw", "\"\xe2\x80\xa9\""),
	L("7 U+2028 escaped", "\"\\u2028\""),
	L("8.1 two bytes", "\"\xc3\xa4\""),
	L("8.1 three bytes", "\"\xe2\x82\xac\""),
	L("8.1 four bytes", "\"\xf0\x9d\x84\x9e\""),
	L("8.1 last code point", "\"\xf4\x8f\xbf\xbf\""),
	L("8.1 first of two bytes", "\"\xc2\x80\""),
	L("8.1 first of three bytes", "\"\xe0\xa0\x80\""),
	L("8.1 first of four bytes", "\"\xf0\x90\x80\x80\""),
	L("8.1 last before the surrogates", "\"\xed\x9f\xbf\""),
	L("8.1 noncharacter", "\"\xef\xbf\xbf\""),
	L("8.1 U+FEFF inside a string", "\"\xef\xbb\xbf\""),
	L("9 eight levels, our limit", "[[[[[[[[]]]]]]]]"),
	L("9 eight levels of objects", "{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{\"a\":{}}}}}}}}"),
	L("9 brackets in strings are no levels", "[\"[[[[[[[[[[[[\"]"),
	L("9 quotes in strings are no ends", "[\"\\\"[[[[[[[[[[[[\"]"),
};

static const struct line rejected[] = {
	L("2 nothing", ""),
	L("2 only blanks", " \t\r "),
	L("2 literal in capitals", "True"),
	L("2 literal in capitals", "NULL"),
	L("2 literal cut off", "tru"),
	L("2 literal too long", "nulll"),
	L("2 two texts", "1 2"),
	L("2 two texts", "{}{}"),
	L("2 text and rubbish", "[1]x"),
	L("2 text and comma", "[1],"),
	L("2 form feed is no blank", "\f1"),
	L("2 no-break space is no blank", "\xc2\xa0"
					  "1"),
	L("2 U+2060 is no blank", "[\xe2\x81\xa0]"),
	L("2 comment", "/* a */ 1"),
	L("2 comment", "1 // a"),
	L("2 comment", "# a"),
	L("4 not closed", "{\"a\":1"),
	L("4 not opened", "\"a\":1}"),
	L("4 wrong closing", "{\"a\":1]"),
	L("4 no colon", "{\"a\" 1}"),
	L("4 two colons", "{\"a\"::1}"),
	L("4 no value", "{\"a\":}"),
	L("4 no name", "{:1}"),
	L("4 bare name", "{a:1}"),
	L("4 single quotes", "{'a':1}"),
	L("4 number as name", "{1:1}"),
	L("4 comma at the end", "{\"a\":1,}"),
	L("4 comma at the start", "{,\"a\":1}"),
	L("4 two commas", "{\"a\":1,,\"b\":2}"),
	L("4 no comma", "{\"a\":1 \"b\":2}"),
	L("4 semicolon", "{\"a\":1;\"b\":2}"),
	L("4 name twice (our choice)", "{\"a\":1,\"a\":2}"),
	L("4 name twice, once escaped (our choice)", "{\"a\":1,\"\\u0061\":2}"),
	L("4 name twice further in (our choice)", "[{\"b\":{\"a\":1,\"a\":1}}]"),
	L("5 not closed", "[1"),
	L("5 not opened", "1]"),
	L("5 wrong closing", "[1}"),
	L("5 comma at the end", "[1,]"),
	L("5 comma at the start", "[,1]"),
	L("5 only a comma", "[,]"),
	L("5 two commas", "[1,,2]"),
	L("5 no comma", "[1 2]"),
	L("5 colon", "[\"a\":1]"),
	L("5 closed twice", "[1]]"),
	L("6 leading zero", "[01]"),
	L("6 leading zeros", "[-001]"),
	L("6 plus", "[+1]"),
	L("6 two signs", "[--1]"),
	L("6 sign alone", "[-]"),
	L("6 blank after the sign", "[- 1]"),
	L("6 point at the start", "[.5]"),
	L("6 point at the end", "[1.]"),
	L("6 two points", "[1.2.3]"),
	L("6 comma as point", "[{\"a\":1,2}]"),
	L("6 exponent without digits", "[1e]"),
	L("6 exponent with sign only", "[1e+]"),
	L("6 exponent with point", "[1e1.5]"),
	L("6 hexadecimal", "[0x10]"),
	L("6 underscore", "[1_000]"),
	L("6 Infinity", "[Infinity]"),
	L("6 -Infinity", "[-Infinity]"),
	L("6 NaN", "[NaN]"),
	L("6 digits of another script", "[\xef\xbc\x91]"),
	L("6 too large a whole number (our choice)", "[9223372036854775808]"),
	L("6 too large a number (our choice)", "[1e400]"),
	L("7 not closed", "\"abc"),
	L("7 closing quote escaped", "\"abc\\\""),
	L("7 raw tab", "\"a\tb\""),
	L("7 raw newline", "\"a\nb\""),
	L("7 raw carriage return", "\"a\rb\""),
	L("7 raw NUL", "\"a\0b\""),
	L("7 raw 0x1f", "\"a\x1f"
			"b\""),
	L("7 unknown escape", "\"\\a\""),
	L("7 hexadecimal escape", "\"\\x41\""),
	L("7 escaped single quote", "\"\\'\""),
	L("7 capital U", "\"\\U0041\""),
	L("7 \\u too short", "\"\\u004\""),
	L("7 \\u not hexadecimal", "\"\\u00g0\""),
	L("7 escape cut off", "\"\\"),
	L("7 \\u0000 (our choice)", "\"\\u0000\""),
	L("8.2 lone high surrogate (our choice)", "\"\\ud800\""),
	L("8.2 lone low surrogate (our choice)", "\"\\udc00\""),
	L("8.2 high and other escape (our choice)", "\"\\ud800\\u0041\""),
	L("8.2 two high (our choice)", "\"\\ud800\\ud800\""),
	L("8.2 swapped pair (our choice)", "\"\\udc00\\ud800\""),
	L("8.1 byte order mark", "\xef\xbb\xbf"
				 "1"),
	L("8.1 lone continuation", "\"\x80\""),
	L("8.1 two bytes cut off", "\"\xc3\""),
	L("8.1 three bytes cut off", "\"\xe2\x82\""),
	L("8.1 four bytes cut off", "\"\xf0\x9d\x84\""),
	L("8.1 overlong slash", "\"\xc0\xaf\""),
	L("8.1 overlong in three bytes", "\"\xe0\x80\xaf\""),
	L("8.1 overlong in four bytes", "\"\xf0\x80\x80\xaf\""),
	L("8.1 surrogate in UTF-8", "\"\xed\xa0\x80\""),
	L("8.1 beyond U+10FFFF", "\"\xf4\x90\x80\x80\""),
	L("8.1 five bytes", "\"\xf8\x88\x80\x80\x80\""),
	L("8.1 Latin-1", "\"\xe4\""),
	L("8.1 0xfe 0xff", "\xfe\xff"),
	L("8.1 UTF-16", "[\0]\0"),
	L("2 NUL after the text", "1\0"),
	L("9 nine levels, our limit is eight", "[[[[[[[[[]]]]]]]]]"),
	L("9 unclosed levels", "[[[[[[[[[[[["),
};

static const char *verdict(const struct line *line)
{
	struct td_message message;
	struct td_fault fault = {.code = TD_CODE_NONE};

	if (td_message_read(line->text, line->length, &message, &fault)) {
		td_message_free(&message);
		return "accepted";
	}
	assert_true(strlen(fault.sentence.text) > 10);
	return fault.code == TD_CODE_PARSE ? "rejected" : "accepted";
}

static void check(const struct line *lines, size_t count, const char *expected)
{
	size_t wrong = 0;

	for (size_t i = 0; i < count; i++) {
		if (strcmp(verdict(&lines[i]), expected) == 0)
			continue;
		print_message("# not %s: RFC 8259 section %s: %s\n", expected, lines[i].section,
			      lines[i].text);
		wrong++;
	}
	assert_int_equal(wrong, 0);
}

static void test_accepts_every_line_that_is_a_json_text(void **state)
{
	(void)state;
	check(accepted, sizeof(accepted) / sizeof(accepted[0]), "accepted");
}

static void test_rejects_every_line_that_is_none(void **state)
{
	(void)state;
	check(rejected, sizeof(rejected) / sizeof(rejected[0]), "rejected");
	print_message("# counted: %zu JSON lines accepted, %zu rejected\n",
		      sizeof(accepted) / sizeof(accepted[0]), sizeof(rejected) / sizeof(rejected[0]));
}

/* 100 000 opening brackets would overrun a parser without a limit; the line is too long as well. */
static void test_rejects_what_nests_or_runs_on_for_ever(void **state)
{
	static char deep[100000];
	struct line lines[] = {{"9 depth", deep, sizeof(deep)}, {"9 depth", deep, TD_LINE_MAX}};

	(void)state;
	memset(deep, '[', sizeof(deep));
	check(lines, 2, "rejected");
}

static void test_takes_a_line_of_exactly_the_limit_and_no_longer_one(void **state)
{
	static char text[TD_LINE_MAX + 1];
	struct line fits = {"9 length", text, TD_LINE_MAX};
	struct line longer = {"9 length", text, TD_LINE_MAX + 1};

	(void)state;
	memset(text, ' ', sizeof(text));
	text[0] = '1';
	check(&fits, 1, "accepted");
	check(&longer, 1, "rejected");
}

/* Every beginning of a text, and the text with each byte changed to each of some nasty ones, is answered
 * one way or the other (under the sanitizers: without reading beyond its end). */
static void test_survives_every_cut_and_every_nasty_byte(void **state)
{
	static const char text[] = "{\"jsonrpc\":\"2.0\",\"method\":\"request\",\"params\":{\"axis\":"
				   "\"\\u00e4\xc3\xa4\",\"hold\":1e2},\"id\":-7}";
	static const char nasty[] = {'\0', '"', '\\', '{', ']', ',', '\n', '9', '-', '\x80', '\xff'};
	char copy[sizeof(text)];
	struct line line = {"", copy, 0};

	(void)state;
	for (size_t cut = 0; cut < sizeof(text) - 1; cut++) {
		struct line beginning = {"", text, cut};

		assert_string_equal(verdict(&beginning), "rejected");
	}
	for (size_t at = 0; at < sizeof(text) - 1; at++) {
		for (size_t i = 0; i < sizeof(nasty); i++) {
			memcpy(copy, text, sizeof(text));
			copy[at] = nasty[i];
			line.length = sizeof(text) - 1;
			assert_non_null(verdict(&line));
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_accepts_every_line_that_is_a_json_text),
		cmocka_unit_test(test_rejects_every_line_that_is_none),
		cmocka_unit_test(test_rejects_what_nests_or_runs_on_for_ever),
		cmocka_unit_test(test_takes_a_line_of_exactly_the_limit_and_no_longer_one),
		cmocka_unit_test(test_survives_every_cut_and_every_nasty_byte),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
