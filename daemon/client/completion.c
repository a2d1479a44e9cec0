/* SPDX-License-Identifier: MIT */
#include "daemon/client/completion.h"

#include <string.h>

#include "daemon/client/options.h"

static void write_commands(FILE *out)
{
	const struct td_command *command = NULL;

	(void)fputs("\tlocal commands=\"", out);
	for (unsigned int i = 0; (command = td_command_at(i)) != NULL; i++)
		(void)fprintf(out, "%s%s", i > 0 ? " " : "", command->name);
	(void)fputs("\"\n", out);
}

/* The options that belong to `command`; "" = to all. */
static void write_options(FILE *out, const char *command)
{
	const struct td_option_info *option = NULL;
	const char *gap = "";

	for (unsigned int i = 0; (option = td_option_at(i)) != NULL; i++) {
		if (strcmp(option->command, command) != 0)
			continue;
		(void)fprintf(out, "%s--%s", gap, option->name);
		gap = " ";
	}
}

static bool has_options(const char *command)
{
	const struct td_option_info *option = NULL;

	for (unsigned int i = 0; (option = td_option_at(i)) != NULL; i++)
		if (strcmp(option->command, command) == 0)
			return true;
	return false;
}

/* What follows an option that takes an argument is not completed but for files. */
static void write_arguments(FILE *out)
{
	const struct td_option_info *option = NULL;

	(void)fputs("\tcase $prev in\n", out);
	for (unsigned int i = 0; (option = td_option_at(i)) != NULL; i++) {
		bool file = strcmp(option->argument, "FILE") == 0 || strcmp(option->argument, "PATH") == 0;

		if (option->argument[0] != '\0')
			(void)fprintf(out, "\t--%s) %sreturn ;;\n", option->name,
				      file ? "COMPREPLY=($(compgen -f -- \"$cur\")); " : "");
	}
	(void)fputs("\tesac\n", out);
}

/* The options of one kind as a pattern: those with an argument or those without, for all commands or for one. */
static void write_pattern(FILE *out, bool argument, bool all)
{
	const struct td_option_info *option = NULL;
	const char *bar = "";

	for (unsigned int i = 0; (option = td_option_at(i)) != NULL; i++)
		if ((option->argument[0] != '\0') == argument && (option->command[0] == '\0') == all) {
			(void)fprintf(out, "%s--%s", bar, option->name);
			bar = "|";
		}
}

/* The command so far, its arguments before the cursor, and the options with which to ask the daemon. */
static void write_scan(FILE *out)
{
	(void)fputs("\twhile ((i < COMP_CWORD)); do\n\t\tcase ${COMP_WORDS[i]} in\n\t\t", out);
	write_pattern(out, true, true);
	(void)fputs(") asking+=(\"${COMP_WORDS[i]}\" \"${COMP_WORDS[i + 1]}\"); ((i++)) ;;\n\t\t", out);
	write_pattern(out, true, false);
	(void)fputs(") ((i++)) ;;\n\t\t--keeper|--visitor) asking+=(\"${COMP_WORDS[i]}\") ;;\n"
		    "\t\t-*) ;;\n"
		    "\t\t*) if [[ $command ]]; then words+=(\"${COMP_WORDS[i]}\"); "
		    "else command=${COMP_WORDS[i]}; fi ;;\n"
		    "\t\tesac\n\t\t((i++))\n\tdone\n",
		    out);
}

static void write_option_words(FILE *out)
{
	const struct td_command *command = NULL;

	(void)fputs("\tif [[ $cur == -* ]]; then\n\t\tlocal options=\"", out);
	write_options(out, "");
	(void)fputs("\"\n\t\tcase $command in\n", out);
	for (unsigned int i = 0; (command = td_command_at(i)) != NULL; i++)
		if (has_options(command->name)) {
			(void)fprintf(out, "\t\t%s) options+=\" ", command->name);
			write_options(out, command->name);
			(void)fputs("\" ;;\n", out);
		}
	(void)fputs("\t\tesac\n"
		    "\t\tCOMPREPLY=($(compgen -W \"$options\" -- \"$cur\"))\n\t\treturn\n\tfi\n",
		    out);
}

/* The usage says which arguments a command has: an axis first, then one of its ways. */
static void write_names(FILE *out)
{
	const struct td_command *command = NULL;

	(void)fputs("\tcase $command:${#words[@]} in\n", out);
	for (unsigned int i = 0; (command = td_command_at(i)) != NULL; i++) {
		if (strstr(command->usage, "AXIS"))
			(void)fprintf(out, "\t%s:0) names=$(_tripdog_names | cut -d' ' -f1) ;;\n",
				      command->name);
		if (strstr(command->usage, "AXIS WAY"))
			(void)fprintf(out,
				      "\t%s:1) names=$(_tripdog_names | sed -n \"s/^${words[0]} //p\") ;;\n",
				      command->name);
	}
	(void)fputs("\tesac\n\tCOMPREPLY=($(compgen -W \"$names\" -- \"$cur\"))\n", out);
}

void td_cli_completion(FILE *out)
{
	(void)fputs(
		"# Completion of tripdog for bash; made by tripdog --completion.\n"
		"_tripdog_names() { \"${COMP_WORDS[0]}\" \"${asking[@]}\" describe --names 2>/dev/null; }\n"
		"_tripdog() {\n"
		"\tlocal cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]}\n"
		"\tlocal command= names= i=1 words=() asking=(--timeout 500ms)\n",
		out);
	write_commands(out);
	(void)fputs("\tCOMPREPLY=()\n", out);
	write_arguments(out);
	write_scan(out);
	write_option_words(out);
	(void)fputs("\tif [[ ! $command ]]; then\n"
		    "\t\tCOMPREPLY=($(compgen -W \"$commands\" -- \"$cur\"))\n\t\treturn\n\tfi\n",
		    out);
	write_names(out);
	(void)fputs("}\ncomplete -F _tripdog tripdog\n", out);
}
