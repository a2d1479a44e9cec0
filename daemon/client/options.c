/* SPDX-License-Identifier: MIT */
#include "daemon/client/options.h"

#include <getopt.h>
#include <string.h>

#include "config/nearest.h"
#include "daemon/client/cli.h"
#include "daemon/client/time.h"

#define TIMEOUT_DEFAULT_NS TD_S(3)

static const struct td_command commands[] = {
#define TD_X(word, least, most, required, usage, help)                                                       \
	{#word, (least), (most), TD_OPTION_##required, (usage), (help), td_cmd_##word},
	TD_COMMAND_TABLE(TD_X)
#undef TD_X
};

static const struct td_option_info option_infos[] = {
#define TD_X(ident, name, argument, command, help) {(name), (argument), (command), (help)},
	TD_OPTION_TABLE(TD_X)
#undef TD_X
};

const struct td_command *td_command_at(unsigned int index)
{
	return index < sizeof(commands) / sizeof(commands[0]) ? &commands[index] : NULL;
}

const struct td_option_info *td_option_at(unsigned int index)
{
	return index < TD_OPTIONS ? &option_infos[index] : NULL;
}

/* --- options ---------------------------------------------------------------------------------------- */

/* After getopt_long() said '?'. optopt is the letter of a short option (there are none), the number of a long
 * one that was given an argument it does not take, or 0. */
static int refuse_option(char **argv, struct td_error *err)
{
	const char *word = argv[optind - 1];

	if (optopt >= 256)
		return td_error_set(err, "--%s takes no argument", option_infos[optopt - 256].name);
	if (optopt > 0)
		return td_error_set(
			err, "there is no option \"-%c\": options are words, tripdog --help lists them",
			optopt);
	struct td_nearest nearest = td_nearest_to(word + 2);
	for (unsigned int i = 0; i < TD_OPTIONS; i++)
		td_nearest_offer(&nearest, option_infos[i].name);
	if (nearest.best)
		return td_error_set(err, "there is no option \"%s\": did you mean --%s?", word, nearest.best);
	return td_error_set(err, "there is no option \"%s\": tripdog --help lists them", word);
}

static void fill_long_options(struct option *table)
{
	for (int i = 0; i < TD_OPTIONS; i++)
		table[i] = (struct option){.name = option_infos[i].name,
					   .has_arg = option_infos[i].argument[0] ? required_argument
										  : no_argument,
					   .val = 256 + i};
}

static int read_options(int argc, char **argv, struct td_options *options, struct td_error *err)
{
	struct option table[TD_OPTIONS + 1] = {{0}};

	fill_long_options(table);
	optind = 0; /* glibc: start anew, also when called again */
	opterr = 0;
	for (;;) {
		int got = getopt_long(argc, argv, ":", table, NULL);

		if (got == -1)
			return 0;
		if (got == ':')
			return td_error_set(err, "%s needs an argument: tripdog --help says which",
					    argv[optind - 1]);
		if (got < 256)
			return refuse_option(argv, err);
		options->given[got - 256] = true;
		options->value[got - 256] = optarg;
	}
}

static int read_times(struct td_options *options, struct td_error *err)
{
	options->timeout_ns = TIMEOUT_DEFAULT_NS;
	if (options->given[TD_OPTION_TIMEOUT] &&
	    td_cli_parse_time(options->value[TD_OPTION_TIMEOUT], &options->timeout_ns, err) != 0)
		return -1;
	if (options->given[TD_OPTION_FOR])
		return td_cli_parse_time(options->value[TD_OPTION_FOR], &options->hold_ns, err);
	return 0;
}

static int check_sockets(const struct td_options *options, struct td_error *err)
{
	int choices = options->given[TD_OPTION_KEEPER] + options->given[TD_OPTION_VISITOR] +
		      options->given[TD_OPTION_SOCKET];

	if (choices > 1)
		return td_error_set(err,
				    "--keeper, --visitor and --socket exclude each other: give one of them");
	if (options->given[TD_OPTION_SOCKET] && options->given[TD_OPTION_CONFIG])
		return td_error_set(err, "--socket names the path already: leave out --config");
	return 0;
}

/* --- commands --------------------------------------------------------------------------------------- */

static int find_command(const char *word, struct td_options *options, struct td_error *err)
{
	struct td_nearest nearest = td_nearest_to(word);

	for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); i++) {
		td_nearest_offer(&nearest, commands[i].name);
		if (strcmp(word, commands[i].name) == 0)
			options->command = &commands[i];
	}
	if (options->command)
		return 0;
	if (nearest.best)
		return td_error_set(err, "there is no command \"%s\": did you mean %s?", word, nearest.best);
	return td_error_set(err, "there is no command \"%s\": tripdog --help lists them", word);
}

/* The name of the argument at `index` in the usage. */
static void argument_name(const char *usage, int index, char *name, size_t size)
{
	for (; index > 0; index--)
		usage += strcspn(usage, " ") + 1;
	(void)snprintf(name, size, "%.*s", (int)strcspn(usage, " "), usage);
}

static int check_arguments(const struct td_options *options, struct td_error *err)
{
	const struct td_command *command = options->command;
	char missing[128] = "";
	size_t used = 0;

	if (options->count > command->most)
		return td_error_set(err, "\"%s\" is one argument too many: the usage is tripdog %s%s%s",
				    options->args[command->most], command->name, command->usage[0] ? " " : "",
				    command->usage);
	for (int i = options->count; i < command->least; i++) {
		char name[16];

		argument_name(command->usage, i, name, sizeof(name));
		used += (size_t)snprintf(missing + used, sizeof(missing) - used, "%s%s", used ? ", " : "",
					 name);
	}
	if (command->required != TD_OPTION_NONE && !options->given[command->required]) {
		const struct td_option_info *info = &option_infos[command->required];

		used += (size_t)snprintf(missing + used, sizeof(missing) - used, "%s--%s %s",
					 used ? ", " : "", info->name, info->argument);
	}
	if (used == 0)
		return 0;
	return td_error_set(err,
			    "%s lacks %s: the usage is tripdog %s %s; tripdog describe lists axes and ways",
			    command->name, missing, command->name, command->usage);
}

static int check_belonging(const struct td_options *options, struct td_error *err)
{
	for (int i = 0; i < TD_OPTIONS; i++)
		if (options->given[i] && option_infos[i].command[0] != '\0' &&
		    strcmp(option_infos[i].command, options->command->name) != 0)
			return td_error_set(err, "--%s belongs to %s, not to %s", option_infos[i].name,
					    option_infos[i].command, options->command->name);
	return 0;
}

int td_options_read(int argc, char **argv, struct td_options *options, struct td_error *err)
{
	*options = (struct td_options){.timeout_ns = TIMEOUT_DEFAULT_NS};
	if (read_options(argc, argv, options, err) != 0)
		return -1;
	if (options->given[TD_OPTION_HELP] || options->given[TD_OPTION_VERSION] ||
	    options->given[TD_OPTION_COMPLETION])
		return 0;
	if (read_times(options, err) != 0 || check_sockets(options, err) != 0)
		return -1;
	if (optind >= argc)
		return td_error_set(
			err, "which command? tripdog --help lists them; tripdog status shows the machine");
	if (find_command(argv[optind], options, err) != 0)
		return -1;
	options->count = argc - optind - 1;
	options->args = argv + optind + 1;
	return check_belonging(options, err) == 0 ? check_arguments(options, err) : -1;
}
