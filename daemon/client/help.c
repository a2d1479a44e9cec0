/* SPDX-License-Identifier: MIT */
#include "daemon/client/help.h"

#include "daemon/cautions.h"
#include "daemon/client/options.h"

enum { INDENT = 2, TEXT_COLUMN = 26 };

static void entry(struct td_pen *pen, const char *left, const char *text)
{
	td_pen_blanks(pen, INDENT);
	td_pen_text(pen, left);
	if (pen->column + INDENT > TEXT_COLUMN)
		td_pen_newline(pen);
	td_pen_blanks(pen, TEXT_COLUMN - pen->column);
	td_pen_fold(pen, text, TEXT_COLUMN);
	td_pen_newline(pen);
}

static void heading(struct td_pen *pen, const char *text)
{
	td_pen_newline(pen);
	td_pen_text(pen, text);
	td_pen_newline(pen);
}

static void list_commands(struct td_pen *pen)
{
	const struct td_command *command = NULL;

	heading(pen, "commands");
	for (unsigned int i = 0; (command = td_command_at(i)) != NULL; i++) {
		char left[64];

		(void)snprintf(left, sizeof(left), "%s%s%s", command->name, command->usage[0] ? " " : "",
			       command->usage);
		entry(pen, left, command->help);
	}
}

static void list_options(struct td_pen *pen)
{
	const struct td_option_info *option = NULL;

	heading(pen, "options");
	for (unsigned int i = 0; (option = td_option_at(i)) != NULL; i++) {
		char left[64];
		char text[256];

		(void)snprintf(text, sizeof(text), "%s%s%s", option->command, option->command[0] ? ": " : "",
			       option->help);
		(void)snprintf(left, sizeof(left), "--%s%s%s", option->name, option->argument[0] ? " " : "",
			       option->argument);
		entry(pen, left, text);
	}
}

static void list_exit_codes(struct td_pen *pen)
{
	static const struct {
		const char *code;
		const char *meaning;
	} codes[] = {
#define TD_X(ident, code, meaning) {#code, (meaning)},
		TD_EXIT_TABLE(TD_X)
#undef TD_X
	};

	heading(pen, "exit codes");
	for (size_t i = 0; i < sizeof(codes) / sizeof(codes[0]); i++)
		entry(pen, codes[i].code, codes[i].meaning);
}

static void list_cautions(struct td_pen *pen)
{
	static const char *const cautions[] = {
#define TD_X(words) words,
		TD_CAUTION_TABLE(TD_X)
#undef TD_X
	};

	heading(pen, "cautions");
	for (size_t i = 0; i < sizeof(cautions) / sizeof(cautions[0]); i++) {
		td_pen_text(pen, "  ! ");
		td_pen_fold(pen, cautions[i], 4);
		td_pen_newline(pen);
	}
}

void td_cli_help(struct td_pen *pen)
{
	td_pen_text(pen, "usage: tripdog [options] command [arguments]");
	td_pen_newline(pen);
	td_pen_text(pen, "Asks tripdogd, which alone may move the machine, over its local socket.");
	td_pen_newline(pen);
	list_commands(pen);
	list_options(pen);
	heading(pen, "A time is a number and its unit: 500ms, 1.5s, 1min.");
	list_exit_codes(pen);
	list_cautions(pen);
}
