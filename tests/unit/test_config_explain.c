/* SPDX-License-Identifier: MIT */
/* The list of keys for people, the guess at a misspelt word, and words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "config/explain.h"
#include "config/keys.h"
#include "config/nearest.h"
#include "config/words.h"

static char *explained;

static void explain_with(void (*explain)(FILE *out))
{
	size_t size = 0;
	FILE *out = open_memstream(&explained, &size);

	assert_non_null(out);
	explain(out);
	assert_int_equal(ferror(out), 0);
	assert_int_equal(fclose(out), 0);
}

static int forget(void **state)
{
	(void)state;
	free(explained);
	explained = NULL;
	return 0;
}

static void show(const struct td_key_info *info, bool mdoc, char heading[64], char line[64])
{
	const struct td_section_info *section = td_section_info(info->section);

	if (mdoc) {
		snprintf(heading, 64, ".Ss [%s%s]\\&\n", section->word, section->shown);
		snprintf(line, 64, "\n.It Ic %s No = Ar ", info->name);
	} else {
		snprintf(heading, 64, "[%s%s]\n", section->word, section->shown);
		snprintf(line, 64, "\n  %s = ", info->name);
	}
}

/* Each key stands below the heading of its section and before the next heading. */
static void expect_every_key(bool mdoc)
{
	for (unsigned int key = 0; key < TD_KEYS; key++) {
		char heading[64];
		char line[64];

		show(td_key_info((enum td_key)key), mdoc, heading, line);
		const char *from = strstr(explained, heading);
		assert_non_null(from);
		const char *at = strstr(from, line);
		assert_non_null(at);
		const char *next = strstr(from + 1, mdoc ? "\n.Ss [" : "\n[");
		assert_true(!next || at < next);
	}
}

static void plain_text_lists_every_key_with_its_section(void **state)
{
	(void)state;
	explain_with(td_config_explain);
	expect_every_key(false);
	assert_non_null(strstr(explained, "lease_ms = number\n"));
	assert_non_null(strstr(explained, "      Allowed: 50 to 1500 ms. Default: 300.\n"));
	assert_non_null(strstr(explained, "Allowed: 0600 to 0660 octal. Default: 0600.\n"));
	assert_non_null(
		strstr(explained, "Allowed: normally-closed or normally-open. Default: normally-closed.\n"));
}

static void plain_text_keeps_to_78_columns(void **state)
{
	(void)state;
	explain_with(td_config_explain);
	for (const char *line = explained; *line; line += strcspn(line, "\n") + 1) {
		size_t length = strcspn(line, "\n");

		assert_in_range(length, 0, 78);
		assert_true(length == 0 || line[length - 1] != ' ');
	}
}

static void mdoc_lists_every_key_with_its_section(void **state)
{
	(void)state;
	explain_with(td_config_explain_mdoc);
	expect_every_key(true);
}

/* A line that begins with a dot is a macro to mdoc: only ours may. */
static void mdoc_has_no_stray_macros(void **state)
{
	static const char *const macros[] = {".Ss ", ".Bl ", ".It ", ".El\n"};

	(void)state;
	explain_with(td_config_explain_mdoc);
	for (const char *line = explained; *line; line += strcspn(line, "\n") + 1) {
		bool known = line[0] != '.' && line[0] != '\'';

		for (size_t i = 0; i < sizeof(macros) / sizeof(macros[0]); i++)
			known = known || strncmp(line, macros[i], strlen(macros[i])) == 0;
		assert_true(known);
	}
}

static void distance_counts_changes(void **state)
{
	static const struct {
		const char *a, *b;
		size_t distance;
	} pairs[] = {
		{"", "", 0},
		{"", "abc", 3},
		{"abc", "", 3},
		{"lower", "lower", 0},
		{"lower", "lowers", 1},
		{"lower", "ower", 1},
		{"lower", "loser", 1},
		{"lower", "olwer", 1},
		{"raise", "arsie", 2},
		{"kitten", "sitting", 3}, /* the usual textbook pair */
		{"flaw", "lawn", 2},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(pairs) / sizeof(pairs[0]); i++) {
		assert_int_equal(td_edit_distance(pairs[i].a, pairs[i].b), pairs[i].distance);
		assert_int_equal(td_edit_distance(pairs[i].b, pairs[i].a), pairs[i].distance);
	}
}

static void distance_of_long_words_is_far(void **state)
{
	char longest[64];
	char longer[65];

	(void)state;
	memset(longest, 'a', sizeof(longest));
	memset(longer, 'a', sizeof(longer));
	longest[sizeof(longest) - 1] = '\0';
	longer[sizeof(longer) - 1] = '\0';
	assert_int_equal(td_edit_distance(longest, longest), 0);
	assert_int_equal(td_edit_distance(longest, ""), 63);
	assert_true(td_edit_distance(longer, longer) == SIZE_MAX);
}

static void nearest_of_several(void **state)
{
	struct td_nearest nearest = td_nearest_to("dead_tiem_ms");

	(void)state;
	td_nearest_offer(&nearest, "rest_ms");
	assert_null(nearest.best);
	td_nearest_offer(&nearest, "dead_times_ms");
	td_nearest_offer(&nearest, "dead_time_ms");
	td_nearest_offer(&nearest, "deed_time_ms");
	assert_string_equal(nearest.best, "dead_time_ms");
}

static void nothing_is_near_enough(void **state)
{
	struct td_nearest nearest = td_nearest_to("ab");

	(void)state;
	td_nearest_offer(&nearest, "xy");
	assert_null(nearest.best);
	td_nearest_offer(&nearest, "ay");
	assert_string_equal(nearest.best, "ay");
}

static void words_are_split_at_blanks_and_tabs(void **state)
{
	static const char text[] = " one\ttwo  three four five cut";
	struct td_words words;

	(void)state;
	td_words_split(text, sizeof(text) - 5, &words);
	assert_int_equal(words.count, 5);
	assert_string_equal(words.word[0], "one");
	assert_string_equal(words.word[1], "two");
	assert_string_equal(words.word[3], "four");
	td_words_split("", 0, &words);
	assert_int_equal(words.count, 0);
	assert_string_equal(words.word[0], "");
}

static void words_longer_than_a_line_are_cut(void **state)
{
	char text[TD_CONFIG_LINE_MAX + 9];
	struct td_words words;

	(void)state;
	memset(text, 'a', sizeof(text));
	td_words_split(text, sizeof(text), &words);
	assert_int_equal(words.count, 1);
	assert_int_equal(strlen(words.word[0]), TD_CONFIG_LINE_MAX);
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test_teardown(plain_text_lists_every_key_with_its_section, forget),
		cmocka_unit_test_teardown(plain_text_keeps_to_78_columns, forget),
		cmocka_unit_test_teardown(mdoc_lists_every_key_with_its_section, forget),
		cmocka_unit_test_teardown(mdoc_has_no_stray_macros, forget),
		cmocka_unit_test(distance_counts_changes),
		cmocka_unit_test(distance_of_long_words_is_far),
		cmocka_unit_test(nearest_of_several),
		cmocka_unit_test(nothing_is_near_enough),
		cmocka_unit_test(words_are_split_at_blanks_and_tabs),
		cmocka_unit_test(words_longer_than_a_line_are_cut),
	};

	return cmocka_run_group_tests_name("config_explain", tests, NULL, NULL);
}
