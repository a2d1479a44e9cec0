/* SPDX-License-Identifier: MIT */
/* Times on the command line of tripdog. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/client/time.h"

static void reads_number_and_unit(void **state)
{
	static const struct {
		const char *text;
		td_ns ns;
	} good[] = {
		{"1ms", TD_MS(1)},         {"500ms", TD_MS(500)}, {"2s", TD_S(2)},
		{"1.5s", TD_MS(1500)},     {"0.25s", TD_MS(250)}, {"0.001s", TD_MS(1)},
		{"1.125ms", TD_US(1125)},  {"10min", TD_S(600)},  {"0.5min", TD_S(30)},
		{"007s", TD_S(7)},         {"60min", TD_S(3600)}, {"3600s", TD_S(3600)},
		{"3600000ms", TD_S(3600)},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++) {
		td_ns got = -1;
		struct td_error err = {""};

		if (td_cli_parse_time(good[i].text, &got, &err) != 0)
			fail_msg("%s was refused: %s", good[i].text, err.text);
		assert_int_equal(got, good[i].ns);
	}
}

static void refuses_everything_else_and_says_why(void **state)
{
	static const struct {
		const char *text;
		const char *says;
	} bad[] = {
		{"", "is no time"},
		{"2", "is no time"},
		{"s", "is no time"},
		{"2 s", "is no time"},
		{"-2s", "is no time"},
		{"+2s", "is no time"},
		{" 2s", "is no time"},
		{"2s ", "is no time"},
		{"2h", "is no time"},
		{"2S", "is no time"},
		{"2ss", "is no time"},
		{".5s", "is no time"},
		{"5.s", "is no time"},
		{"1.2.3s", "is no time"},
		{"1.2345s", "is no time"},
		{"1e3ms", "is no time"},
		{"0x10s", "is no time"},
		{"inf", "is no time"},
		{"0s", "too short"},
		{"0.5ms", "too short"},
		{"0.000s", "too short"},
		{"3601s", "too long"},
		{"61min", "too long"},
		{"3600001ms", "too long"},
		{"60.001min", "too long"},
		{"99999999999999999999s", ""},
		{"9223372036854775807ms", ""},
		{"18446744073709551617s", ""},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		td_ns got = 42;
		struct td_error err = {""};

		if (td_cli_parse_time(bad[i].text, &got, &err) != -1)
			fail_msg("\"%s\" was taken for %lld ns", bad[i].text, (long long)got);
		assert_int_equal(got, 42);
		assert_true(err.text[0] != '\0');
		assert_non_null(strstr(err.text, bad[i].says));
	}
}

static void writes_spans_rounded_up(void **state)
{
	static const struct {
		td_ns ns;
		const char *text;
	} spans[] = {
		{0, "0 ms"},
		{-5, "0 ms"},
		{1, "1 ms"},
		{TD_MS(1), "1 ms"},
		{TD_US(1001), "2 ms"},
		{TD_MS(999), "999 ms"},
		{TD_S(1), "1.0 s"},
		{TD_MS(1001), "1.1 s"},
		{TD_MS(1100), "1.1 s"},
		{TD_MS(9950), "10.0 s"},
		{TD_S(3600), "3600.0 s"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(spans) / sizeof(spans[0]); i++) {
		char text[32];

		td_cli_format_time(spans[i].ns, text, sizeof(text));
		assert_string_equal(text, spans[i].text);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(reads_number_and_unit),
		cmocka_unit_test(refuses_everything_else_and_says_why),
		cmocka_unit_test(writes_spans_rounded_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
