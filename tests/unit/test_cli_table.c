/* SPDX-License-Identifier: MIT */
/* The tables of commands, options and exit codes, against the man page and --help. Run from the top of the tree. */
#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "config/keys.h"
#include "daemon/client/help.h"
#include "daemon/client/options.h"
#include "wire/method_table.h"

enum { PAGE_MAX = 65536, ITEMS_MAX = 32, ITEM_MAX = 128 };

static char page[PAGE_MAX];

static int read_page(void **state)
{
	FILE *file = fopen("docs/tripdog.1", "r");

	(void)state;
	if (!file)
		return -1;
	page[fread(page, 1, sizeof(page) - 1, file)] = '\0';
	return fclose(file);
}

/* All lines that begin so, in order, without that beginning. */
static size_t lines_with(const char *beginning, char items[ITEMS_MAX][ITEM_MAX])
{
	size_t count = 0;

	for (const char *line = page; line && count < ITEMS_MAX; line = strchr(line, '\n')) {
		line += *line == '\n';
		if (strncmp(line, beginning, strlen(beginning)) != 0)
			continue;
		line += strlen(beginning);
		(void)snprintf(items[count++], ITEM_MAX, "%.*s", (int)strcspn(line, "\n"), line);
	}
	return count;
}

/* "AXIS WAY --for TIME" as mdoc writes it: "Ar axis way Fl -for Ar time". */
static void usage_in_mdoc(const struct td_command *command, char *text, size_t size)
{
	char usage[ITEM_MAX];
	const char *last = "";
	size_t used = (size_t)snprintf(text, size, "%s", command->name);

	(void)snprintf(usage, sizeof(usage), "%s", command->usage);
	for (char *word = strtok(usage, " "); word; word = strtok(NULL, " ")) {
		const char *optional = word[0] == '[' ? " Op" : "";
		char *bare = word + strspn(word, "[");
		const char *macro = bare[0] == '-' ? "Fl" : "Ar";

		bare[strcspn(bare, "]")] = '\0';
		bare += strcmp(macro, "Fl") == 0;
		for (char *c = bare; *c; c++)
			*c = (char)tolower((unsigned char)*c);
		if (strcmp(last, macro) == 0)
			used += (size_t)snprintf(text + used, size - used, " %s", bare);
		else
			used += (size_t)snprintf(text + used, size - used, "%s %s %s", optional, macro, bare);
		last = macro;
	}
}

static void the_man_page_lists_exactly_the_commands(void **state)
{
	char items[ITEMS_MAX][ITEM_MAX];
	size_t count = lines_with(".It Cm ", items);
	unsigned int i = 0;

	(void)state;
	for (; td_command_at(i); i++) {
		char wanted[ITEM_MAX];

		usage_in_mdoc(td_command_at(i), wanted, sizeof(wanted));
		assert_true(i < count);
		assert_string_equal(items[i], wanted);
	}
	assert_int_equal(i, count);
}

static void the_man_page_lists_exactly_the_options(void **state)
{
	char items[ITEMS_MAX][ITEM_MAX];
	size_t count = lines_with(".It Fl -", items);
	unsigned int i = 0;

	(void)state;
	for (; td_option_at(i); i++) {
		const struct td_option_info *info = td_option_at(i);
		char wanted[2 * ITEM_MAX];
		char argument[ITEM_MAX];

		(void)snprintf(argument, sizeof(argument), "%s", info->argument);
		for (char *c = argument; *c; c++)
			*c = (char)tolower((unsigned char)*c);
		(void)snprintf(wanted, sizeof(wanted), "%s%s%s", info->name, argument[0] ? " Ar " : "",
			       argument);
		assert_true(i < count);
		assert_string_equal(items[i], wanted);
	}
	assert_int_equal(i, count);
}

static void the_man_page_gives_the_exit_codes_their_meaning(void **state)
{
	static const struct {
		int code;
		const char *meaning;
	} codes[] = {
#define TD_X(ident, number, meaning) {(number), (meaning)},
		TD_EXIT_TABLE(TD_X)
#undef TD_X
	};
	char items[ITEMS_MAX][ITEM_MAX];
	const char *section = strstr(page, ".Sh EXIT STATUS");

	(void)state;
	assert_non_null(section);
	memmove(page, section, strlen(section) + 1);
	*strstr(page, ".Sh EXAMPLES") = '\0';
	assert_int_equal(lines_with(".It ", items), sizeof(codes) / sizeof(codes[0]));
	for (size_t i = 0; i < sizeof(codes) / sizeof(codes[0]); i++) {
		char head[ITEM_MAX];

		assert_int_equal(strtol(items[i], NULL, 10), codes[i].code);
		assert_int_equal(codes[i].code, i);
		/* The words may be set in macros: the first of them is enough to see that they go together. */
		(void)snprintf(head, sizeof(head), ".It %d\n%c%.*s", codes[i].code,
			       toupper(codes[i].meaning[0]), (int)strcspn(codes[i].meaning + 1, " ;"),
			       codes[i].meaning + 1);
		assert_non_null(strstr(page, head));
	}
	assert_int_equal(read_page(NULL), 0);
}

static void the_man_page_names_the_default_sockets(void **state)
{
	char items[ITEMS_MAX][ITEM_MAX];

	(void)state;
	assert_int_equal(lines_with(".It Pa ", items), 2);
	assert_string_equal(items[0], td_key_info(TD_KEY_KEEPER_SOCKET)->fallback);
	assert_string_equal(items[1], td_key_info(TD_KEY_VISITOR_SOCKET)->fallback);
}

static void help_has_every_command_option_exit_code_and_the_cautions(void **state)
{
	char *help = NULL;
	size_t length = 0;
	struct td_pen pen = {.out = open_memstream(&help, &length), .width = 80};
	char words[ITEM_MAX];

	(void)state;
	assert_non_null(pen.out);
	td_cli_help(&pen);
	assert_int_equal(fclose(pen.out), 0);
	for (unsigned int i = 0; td_command_at(i); i++) {
		(void)snprintf(words, sizeof(words), "\n  %s", td_command_at(i)->name);
		assert_non_null(strstr(help, words));
	}
	for (unsigned int i = 0; td_option_at(i); i++) {
		(void)snprintf(words, sizeof(words), "\n  --%s", td_option_at(i)->name);
		assert_non_null(strstr(help, words));
	}
	for (int code = 0; code <= TD_EXIT_UNREADABLE; code++) {
		(void)snprintf(words, sizeof(words), "\n  %d  ", code);
		assert_non_null(strstr(help, words));
	}
	assert_non_null(strstr(help, "fingers"));
	assert_non_null(strstr(help, "no substitute for a wired emergency stop that cuts motor power"));
	for (char *line = strtok(help, "\n"); line; line = strtok(NULL, "\n"))
		assert_true(strlen(line) <= 80);
	free(help);
}

static void every_command_that_asks_is_a_method_of_the_protocol(void **state)
{
	static const char *const methods[] = {
#define TD_X(ident, name, ...) name,
		TD_METHOD_TABLE(TD_X)
#undef TD_X
	};

	(void)state;
	for (unsigned int i = 0; td_command_at(i); i++) {
		const char *name = td_command_at(i)->name;
		/* made of request and release; made of files */
		bool found =
			strcmp(name, "hold") == 0 || strcmp(name, "keys") == 0 || strcmp(name, "retell") == 0;

		for (size_t m = 0; m < sizeof(methods) / sizeof(methods[0]); m++)
			found = found || strcmp(name, methods[m]) == 0;
		assert_true(found);
	}
}

/* --- the parser on those tables --------------------------------------------------------------------- */

static int read_words(const char *line, struct td_options *options, struct td_error *err)
{
	static char words[256];
	static char *argv[16];
	static char program[] = "tripdog";
	int argc = 1;

	(void)snprintf(words, sizeof(words), "%s", line);
	argv[0] = program;
	for (char *word = strtok(words, " "); word; word = strtok(NULL, " "))
		argv[argc++] = word;
	argv[argc] = NULL;
	return td_options_read(argc, argv, options, err);
}

static void good_lines_are_read(void **state)
{
	static const struct {
		const char *line;
		const char *command;
		int count;
	} good[] = {
		{"status", "status", 0},
		{"status --watch", "status", 0},
		{"--watch --json status", "status", 0},
		{"hold boom raise --for 2s", "hold", 2},
		{"--for 2s hold boom raise", "hold", 2},
		{"hold --for=2s boom raise --keeper", "hold", 2},
		{"stop", "stop", 0},
		{"stop boom", "stop", 1},
		{"stop -- boom", "stop", 1},
		{"latch --visitor", "latch", 0},
		{"reset --socket /x", "reset", 0},
		{"follow --config x", "follow", 0},
		{"describe --timeout 1s", "describe", 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++) {
		struct td_options options;
		struct td_error err = {""};

		if (read_words(good[i].line, &options, &err) != 0)
			fail_msg("%s: %s", good[i].line, err.text);
		assert_string_equal(options.command->name, good[i].command);
		assert_int_equal(options.count, good[i].count);
	}
}

static void bad_lines_are_refused_with_the_way_out(void **state)
{
	static const struct {
		const char *line;
		const char *says;
	} bad[] = {
		{"", "which command?"},
		{"staus", "did you mean status?"},
		{"hlod boom raise --for 2s", "did you mean hold?"},
		{"dance", "tripdog --help lists them"},
		{"--jsno status", "did you mean --json?"},
		{"status --zzzzzzzz", "tripdog --help lists them"},
		{"status -x", "there is no option \"-x\""},
		{"status --json=1", "--json takes no argument"},
		{"status --timeout", "--timeout needs an argument"},
		{"status --timeout 3", "\"3\" is no time"},
		{"status extra", "\"extra\" is one argument too many"},
		{"stop boom vent", "\"vent\" is one argument too many"},
		{"hold", "hold lacks AXIS, WAY, --for TIME"},
		{"hold boom", "hold lacks WAY, --for TIME"},
		{"hold boom raise", "hold lacks --for TIME"},
		{"hold boom --for 2s", "hold lacks WAY: the usage is tripdog hold AXIS WAY --for TIME"},
		{"hold boom raise --for 0s", "too short"},
		{"hold boom raise lower --for 1s", "\"lower\" is one argument too many"},
		{"stop --for 2s", "--for belongs to hold, not to stop"},
		{"hold boom raise --for 2s --watch", "--watch belongs to status"},
		{"status --keeper --visitor", "exclude each other"},
		{"status --socket /x --visitor", "exclude each other"},
		{"status --socket /x --config y", "leave out --config"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_options options;
		struct td_error err = {""};

		if (read_words(bad[i].line, &options, &err) != -1)
			fail_msg("\"%s\" was taken", bad[i].line);
		if (!strstr(err.text, bad[i].says))
			fail_msg("\"%s\": expected \"%s\" in \"%s\"", bad[i].line, bad[i].says, err.text);
	}
}

static void help_and_version_win_over_a_wrong_rest(void **state)
{
	struct td_options options;

	(void)state;
	assert_int_equal(read_words("--help dance --for x", &options, NULL), 0);
	assert_true(options.given[TD_OPTION_HELP]);
	assert_null(options.command);
	assert_int_equal(read_words("--version", &options, NULL), 0);
	assert_true(options.given[TD_OPTION_VERSION]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_man_page_lists_exactly_the_commands),
		cmocka_unit_test(the_man_page_lists_exactly_the_options),
		cmocka_unit_test(the_man_page_gives_the_exit_codes_their_meaning),
		cmocka_unit_test(the_man_page_names_the_default_sockets),
		cmocka_unit_test(help_has_every_command_option_exit_code_and_the_cautions),
		cmocka_unit_test(every_command_that_asks_is_a_method_of_the_protocol),
		cmocka_unit_test(good_lines_are_read),
		cmocka_unit_test(bad_lines_are_refused_with_the_way_out),
		cmocka_unit_test(help_and_version_win_over_a_wrong_rest),
	};

	return cmocka_run_group_tests(tests, read_page, NULL);
}
