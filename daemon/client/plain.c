/* SPDX-License-Identifier: MIT */
/* The commands that are one call and one answer. */
#include "daemon/client/cli.h"
#include "daemon/client/view.h"
#include "wire/fault.h"

static json_t *axis_params(int count, char **args)
{
	return count > 0 ? json_pack("{s:s}", "axis", args[0]) : NULL;
}

/* The latched stop is on all the same; but a power loss would lift it. */
static void warn_if_not_kept(const json_t *answer)
{
	const char *fault = json_string_value(json_object_get(answer, "fault"));

	if (json_is_false(json_object_get(answer, "kept")))
		td_cli_complain("the latched stop is on, but would not outlive a power loss: %s",
				fault ? fault : "see the daemon's messages");
}

static void tell_answer(struct td_cli *cli, const char *what, const json_t *answer)
{
	struct td_view_reason became = td_view_reason_read(answer);

	if (cli->options.given[TD_OPTION_JSON]) {
		td_cli_print_json(answer);
	} else {
		td_pen_text(&cli->pen, what);
		td_pen_text(&cli->pen, ": ");
		td_pen_text(&cli->pen, became.sentence);
		td_pen_newline(&cli->pen);
	}
	warn_if_not_kept(answer);
}

static enum td_exit call_and_tell(struct td_cli *cli, const char *method, const char *what, json_t *params)
{
	json_t *answer = NULL;
	enum td_exit code = td_cli_call(cli, method, params, &answer);

	if (code == TD_EXIT_DONE)
		tell_answer(cli, what, answer);
	json_decref(answer);
	return code;
}

/* A stop for an axis that there is not: whoever types it wants something to stop. The daemon stops everything
 * then; this asks for it once more, to be told that it did. */
static enum td_exit stop_all_instead(struct td_cli *cli, const char *axis)
{
	enum td_exit code = call_and_tell(cli, "stop", "all axes", NULL);

	if (code != TD_EXIT_DONE)
		return code;
	td_cli_complain("there is no axis \"%s\"; all axes were stopped instead", axis);
	return TD_EXIT_USAGE;
}

enum td_exit td_cmd_stop(struct td_cli *cli, int count, char **args)
{
	struct td_error err = {""};
	json_t *answer = NULL;
	enum td_exit code = td_cli_connect(cli);

	if (code != TD_EXIT_DONE)
		return code;
	enum td_link_outcome outcome = td_link_call(cli->link, "stop", axis_params(count, args),
						    cli->options.timeout_ns, &answer, &err);
	if (outcome == TD_LINK_OK)
		tell_answer(cli, count > 0 ? args[0] : "all axes", answer);
	else
		code = td_cli_failed(cli, outcome, answer, &err);
	if (count > 0 && outcome == TD_LINK_REFUSED && td_refusal_read(answer).code == TD_CODE_PARAMS)
		code = stop_all_instead(cli, args[0]);
	json_decref(answer);
	return code;
}

enum td_exit td_cmd_latch(struct td_cli *cli, int count, char **args)
{
	enum td_exit code = td_cli_connect(cli);

	(void)count;
	(void)args;
	return code == TD_EXIT_DONE ? call_and_tell(cli, "latch", "latched stop", NULL) : code;
}

enum td_exit td_cmd_cooled(struct td_cli *cli, int count, char **args)
{
	enum td_exit code = td_cli_open(cli);

	if (code != TD_EXIT_DONE)
		return code;
	return call_and_tell(cli, "cooled", count > 0 ? args[0] : "all axes", axis_params(count, args));
}

enum td_exit td_cmd_reset(struct td_cli *cli, int count, char **args)
{
	enum td_exit code = td_cli_open(cli);

	if (code != TD_EXIT_DONE)
		return code;
	return call_and_tell(cli, "reset", count > 0 ? args[0] : "machine", axis_params(count, args));
}

enum td_exit td_cmd_untwisted(struct td_cli *cli, int count, char **args)
{
	enum td_exit code = td_cli_open(cli);

	(void)count;
	(void)args;
	return code == TD_EXIT_DONE ? call_and_tell(cli, "untwisted", "cable", NULL) : code;
}

/* As keeper: what concerns visitors and their turns. */
static enum td_exit about_visitors(struct td_cli *cli, const char *method)
{
	enum td_exit code = td_cli_open(cli);

	return code == TD_EXIT_DONE ? call_and_tell(cli, method, "visitors", NULL) : code;
}

enum td_exit td_cmd_next(struct td_cli *cli, int count, char **args)
{
	(void)count;
	(void)args;
	return about_visitors(cli, "next");
}

enum td_exit td_cmd_close(struct td_cli *cli, int count, char **args)
{
	(void)count;
	(void)args;
	return about_visitors(cli, "close");
}

enum td_exit td_cmd_open(struct td_cli *cli, int count, char **args)
{
	(void)count;
	(void)args;
	return about_visitors(cli, "open");
}
