/* SPDX-License-Identifier: MIT */
/* tripdog metrics: the daemon's text, as it is. */
#include <string.h>

#include "daemon/client/cli.h"
#include "daemon/client/file.h"

/* Files are read by collectors that know the older form alone. */
static const char *form_of(const struct td_options *options)
{
	if (options->given[TD_OPTION_FORM])
		return options->value[TD_OPTION_FORM];
	return options->given[TD_OPTION_OUTPUT] ? "text" : "openmetrics";
}

static enum td_exit put(struct td_cli *cli, const json_t *answer, const char *text)
{
	const struct td_options *options = &cli->options;
	struct td_error err = {""};

	if (options->given[TD_OPTION_JSON])
		td_cli_print_json(answer);
	else if (!options->given[TD_OPTION_OUTPUT])
		(void)fputs(text, stdout);
	if (!options->given[TD_OPTION_OUTPUT] ||
	    td_cli_file_write(options->value[TD_OPTION_OUTPUT], text, strlen(text), &err) == 0)
		return TD_EXIT_DONE;
	td_cli_complain("%s", err.text);
	return TD_EXIT_INTERNAL;
}

enum td_exit td_cmd_metrics(struct td_cli *cli, int count, char **args)
{
	json_t *answer = NULL;
	enum td_exit code = td_cli_connect(cli);

	(void)count;
	(void)args;
	if (code == TD_EXIT_DONE)
		code = td_cli_call(cli, "metrics", json_pack("{s:s}", "form", form_of(&cli->options)),
				   &answer);
	if (code != TD_EXIT_DONE)
		return code;
	const char *text = json_string_value(json_object_get(answer, "text"));

	if (text) {
		code = put(cli, answer, text);
	} else {
		const struct td_error err = {"the daemon's answer has no text: is it of another version?"};

		code = td_cli_failed(cli, TD_LINK_BROKEN, NULL, &err);
	}
	json_decref(answer);
	return code;
}
