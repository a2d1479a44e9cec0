/* SPDX-License-Identifier: MIT */
/* tripdog: the client. Asks the daemon; decides nothing. */
#include <langinfo.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/client/cli.h"
#include "daemon/client/completion.h"
#include "daemon/client/help.h"
#include "daemon/client/screen.h"

static struct td_pen pen_for(const struct td_options *options)
{
	const char *no_colour = getenv("NO_COLOR");

	return (struct td_pen){
		.out = stdout,
		.width = td_screen_width(),
		.utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0,
		.colour = td_screen_is_terminal() && !options->given[TD_OPTION_NO_COLOUR] &&
			  !(no_colour && no_colour[0] != '\0'),
	};
}

static enum td_exit run(struct td_cli *cli)
{
	const struct td_options *options = &cli->options;

	if (options->given[TD_OPTION_HELP]) {
		td_cli_help(&cli->pen);
		return TD_EXIT_DONE;
	}
	if (options->given[TD_OPTION_VERSION]) {
		(void)puts("tripdog " TD_VERSION);
		return TD_EXIT_DONE;
	}
	if (options->given[TD_OPTION_COMPLETION]) {
		td_cli_completion(stdout);
		return TD_EXIT_DONE;
	}
	enum td_exit code = options->command->run(cli, options->count, options->args);
	td_link_close(cli->link);
	return code;
}

int main(int argc, char **argv)
{
	struct td_cli cli = {.link = NULL};
	struct td_error err = {""};

	(void)setlocale(LC_ALL, "");
	if (td_options_read(argc, argv, &cli.options, &err) != 0) {
		td_cli_complain("%s", err.text);
		return TD_EXIT_USAGE;
	}
	cli.pen = pen_for(&cli.options);
	enum td_exit code = run(&cli);
	if (fflush(stdout) != 0 || ferror(stdout) != 0) {
		td_cli_complain("cannot write the output");
		return (int)(code == TD_EXIT_DONE ? TD_EXIT_INTERNAL : code);
	}
	return (int)code;
}
