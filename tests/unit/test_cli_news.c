/* SPDX-License-Identifier: MIT */
/* News as one line each. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "daemon/client/news.h"

/* 2024-02-29 12:34:56.789 UTC, as `date -u -d @1709210096` of GNU coreutils gives it. */
#define WALL_NS (TD_S(1709210096) + TD_MS(789))
#define NOW_NS  TD_S(1000)

static void expect_line(const char *notification, const char *wanted)
{
	char line[512] = "";
	struct td_pen pen = {.out = fmemopen(line, sizeof(line), "w"), .width = 80};
	struct td_news_line news;
	json_t *document = json_loads(notification, 0, NULL);

	assert_non_null(document);
	assert_non_null(pen.out);
	(void)td_news_read(document, &news);
	td_news_write(&pen, &news, NOW_NS, WALL_NS);
	assert_int_equal(fclose(pen.out), 0);
	assert_string_equal(line, wanted);
	json_decref(document);
}

static void a_line_has_time_subject_cause_sentence_and_rule(void **state)
{
	(void)state;
	expect_line(
		"{\"method\":\"news\",\"params\":{\"at_ns\":1000000000000,\"cause\":\"end-reached\",\"rule\":"
		"\"R2\","
		"\"sentence\":\"the end switch of this way is active\",\"axis\":\"boom\",\"way\":\"raise\","
		"\"switch\":\"boom_top\"}}",
		"12:34:56.789  boom raise boom_top: end-reached, the end switch of this way is active "
		"(R2)\n");
	expect_line(
		"{\"method\":\"news\",\"params\":{\"at_ns\":999000000000,\"cause\":\"armed\",\"rule\":\"\","
		"\"sentence\":\"the machine is armed\"}}",
		"12:34:55.789  machine: armed, the machine is armed\n");
}

static void R11_a_reset_says_who_made_it(void **state)
{
	(void)state;
	expect_line("{\"params\":{\"at_ns\":1000000000000,\"cause\":\"reset-done\",\"sentence\":\"x\","
		    "\"axis\":\"boom\",\"by\":\"visitor\"}}",
		    "12:34:56.789  boom: reset-done by the visitor, x\n");
}

static void a_time_stamp_without_sense_is_shown_as_now(void **state)
{
	(void)state;
	expect_line("{\"params\":{\"at_ns\":-5,\"cause\":\"x\",\"sentence\":\"y\"}}",
		    "12:34:56.789  machine: x, y\n");
	expect_line("{\"params\":{\"at_ns\":2000000000000,\"cause\":\"x\",\"sentence\":\"y\"}}",
		    "12:34:56.789  machine: x, y\n");
	expect_line("{\"params\":{\"at_ns\":\"soon\",\"cause\":\"x\",\"sentence\":\"y\"}}",
		    "12:34:56.789  machine: x, y\n");
}

static void only_news_are_news(void **state)
{
	static const struct {
		const char *text;
		bool news;
	} cases[] = {
		{"{\"method\":\"news\",\"params\":{\"cause\":\"trip\"}}", true},
		{"{\"method\":\"news\"}", true},
		{"{\"method\":\"axis\",\"params\":{}}", false},
		{"{\"method\":\"machine\",\"params\":{}}", false},
		{"{\"method\":1}", false},
		{"[]", false},
		{"7", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct td_news_line news;
		json_t *document = json_loads(cases[i].text, JSON_DECODE_ANY, NULL);

		assert_int_equal(td_news_read(document, &news), cases[i].news);
		assert_non_null(news.axis);
		assert_int_equal(news.cause, TD_CAUSE_NONE);
		json_decref(document);
	}
}

static void escapes_in_news_are_made_harmless(void **state)
{
	(void)state;
	expect_line("{\"params\":{\"cause\":\"\\u001b[2J\",\"sentence\":\"a\\nb\"}}",
		    "12:34:56.789  machine: ?[2J, a?b\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_line_has_time_subject_cause_sentence_and_rule),
		cmocka_unit_test(R11_a_reset_says_who_made_it),
		cmocka_unit_test(a_time_stamp_without_sense_is_shown_as_now),
		cmocka_unit_test(only_news_are_news),
		cmocka_unit_test(escapes_in_news_are_made_harmless),
	};

	(void)setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
