/* SPDX-License-Identifier: MIT */
/* The command line of tripdogd: what is understood, and that --help and the man page tell of all of it. Run from
 * the top of the tree. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/exit_codes.h"
#include "daemon/options.h"

enum { WORDS_MAX = 8 };

/* Splits at blanks; "tripdogd" goes before. */
static int parse(const char *text, struct td_options *options, struct td_error *err)
{
	static char copy[256];
	char *argv[WORDS_MAX + 2] = {(char[]){"tripdogd"}};
	int argc = 1;

	(void)snprintf(copy, sizeof(copy), "%s", text);
	for (char *rest = copy, *word; (word = strsep(&rest, " ")) && argc <= WORDS_MAX;)
		if (word[0])
			argv[argc++] = word;
	return td_options_parse(argc, argv, options, err);
}

static void what_is_given_arrives(void **state)
{
	static const struct {
		const char *text;
		enum td_mode mode;
		const char *config;
		const char *sysfs;
	} good[] = {
		{"", TD_MODE_RUN, TD_DEFAULT_CONFIG, NULL},
		{"-c a.conf", TD_MODE_RUN, "a.conf", NULL},
		{"--config a.conf --sysfs made-up", TD_MODE_RUN, "a.conf", "made-up"},
		{"--sysfs=made-up", TD_MODE_RUN, TD_DEFAULT_CONFIG, "made-up"},
		{"--clear-lines -c a.conf", TD_MODE_CLEAR, "a.conf", NULL},
		{"--check-config", TD_MODE_CHECK, TD_DEFAULT_CONFIG, NULL},
		{"--explain-config", TD_MODE_EXPLAIN, TD_DEFAULT_CONFIG, NULL},
		{"--explain-config=mdoc", TD_MODE_EXPLAIN, TD_DEFAULT_CONFIG, NULL},
		{"-h", TD_MODE_HELP, TD_DEFAULT_CONFIG, NULL},
		{"--version", TD_MODE_VERSION, TD_DEFAULT_CONFIG, NULL},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++) {
		struct td_options options;
		struct td_error err = {""};

		if (parse(good[i].text, &options, &err) != 0)
			fail_msg("\"%s\": %s", good[i].text, err.text);
		assert_int_equal(options.mode, good[i].mode);
		assert_string_equal(options.config, good[i].config);
		assert_int_equal(options.sysfs == NULL, good[i].sysfs == NULL);
		if (good[i].sysfs)
			assert_string_equal(options.sysfs, good[i].sysfs);
	}
}

static void what_is_not_understood_is_told(void **state)
{
	static const struct {
		const char *text;
		const char *says;
	} bad[] = {
		{"--sysfs", "--sysfs needs a value"},
		{"-c", "-c needs a value"},
		{"--fast", "there is no option --fast"},
		{"-x", "there is no option -x"},
		{"-l", "there is no option -l"},
		{"-xh", "there is no option -x"},
		{"--help=now", "--help takes no value"},
		{"--config=a.conf -xh", "there is no option -x"},
		{"now", "\"now\" is not understood"},
		{"--explain-config=html", "the only form besides plain text is \"mdoc\""},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_options options;
		struct td_error err = {""};

		assert_int_equal(parse(bad[i].text, &options, &err), -1);
		if (!strstr(err.text, bad[i].says))
			fail_msg("no '%s' in '%s'", bad[i].says, err.text);
	}
}

static void help(char **text)
{
	size_t size = 0;
	FILE *out = open_memstream(text, &size);

	assert_non_null(out);
	td_options_help(out);
	assert_int_equal(fclose(out), 0);
}

static void read_page(char *page, size_t size)
{
	FILE *in = fopen("docs/tripdogd.8", "r");

	assert_non_null(in);
	page[fread(page, 1, size - 1, in)] = '\0';
	(void)fclose(in);
}

static void the_man_page_lists_every_option_of_the_help(void **state)
{
	static char page[16384];
	char *text = NULL;
	unsigned found = 0;

	(void)state;
	help(&text);
	read_page(page, sizeof(page));
	for (const char *at = text; (at = strstr(at, "--")); at += 2) {
		char wanted[64];

		(void)snprintf(wanted, sizeof(wanted), "Fl -%.*s",
			       (int)strspn(at + 2, "abcdefghijklmnopqrstuvwxyz-"), at + 2);
		found++;
		if (!strstr(page, wanted))
			fail_msg("no \"%s\" in the man page", wanted);
	}
	assert_true(found >= 8);
	free(text);
}

static void the_man_page_lists_every_exit_code(void **state)
{
	static char page[16384];
	static const int codes[] = {
#define TD_X(ident, code, meaning) code,
		TD_EXIT_TABLE(TD_X)
#undef TD_X
	};

	(void)state;
	read_page(page, sizeof(page));
	const char *section = strstr(page, ".Sh EXIT STATUS");

	assert_non_null(section);
	for (size_t i = 0; i < sizeof(codes) / sizeof(codes[0]); i++) {
		char wanted[32];

		(void)snprintf(wanted, sizeof(wanted), "\n.It %d\n", codes[i]);
		assert_non_null(strstr(section, wanted));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_is_given_arrives),
		cmocka_unit_test(what_is_not_understood_is_told),
		cmocka_unit_test(the_man_page_lists_every_option_of_the_help),
		cmocka_unit_test(the_man_page_lists_every_exit_code),
	};

	return cmocka_run_group_tests_name("options of tripdogd", tests, NULL, NULL);
}
