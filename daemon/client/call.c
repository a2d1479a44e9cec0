/* SPDX-License-Identifier: MIT */
/* Connecting, calling, and telling why not. */
#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "config/config.h"
#include "config/keys.h"
#include "daemon/client/cli.h"
#include "daemon/client/time.h"
#include "wire/fault.h"
#include "wire/limits.h"

void td_cli_complain(const char *format, ...)
{
	va_list args;

	(void)fflush(stdout);
	(void)fputs("tripdog: ", stderr);
	va_start(args, format);
	(void)vfprintf(stderr, format, args);
	va_end(args);
	(void)fputc('\n', stderr);
}

void td_cli_print_json(const json_t *document)
{
	(void)json_dumpf(document, stdout, JSON_COMPACT | JSON_ENCODE_ANY);
	(void)fputc('\n', stdout);
	(void)fflush(stdout);
}

/* --- connecting ------------------------------------------------------------------------------------- */

struct paths {
	char keeper[TD_PATH_MAX];
	char visitor[TD_PATH_MAX];
};

static int paths_of_config(const char *file, struct paths *paths)
{
	struct td_config *config = calloc(1, sizeof(*config));
	struct td_config_faults *faults = calloc(1, sizeof(*faults));
	int result = -1;

	if (!config || !faults) {
		td_cli_complain("out of memory");
	} else if (!td_config_read(file, config, faults)) {
		td_cli_complain("%s", faults->fault[0].text);
	} else {
		memcpy(paths->keeper, config->keeper.path, sizeof(paths->keeper));
		memcpy(paths->visitor, config->visitor.path, sizeof(paths->visitor));
		result = 0;
	}
	free(config);
	free(faults);
	return result;
}

static int choose_paths(const struct td_options *options, struct paths *paths)
{
	if (options->given[TD_OPTION_CONFIG])
		return paths_of_config(options->value[TD_OPTION_CONFIG], paths);
	(void)snprintf(paths->keeper, sizeof(paths->keeper), "%s",
		       td_key_info(TD_KEY_KEEPER_SOCKET)->fallback);
	(void)snprintf(paths->visitor, sizeof(paths->visitor), "%s",
		       td_key_info(TD_KEY_VISITOR_SOCKET)->fallback);
	return 0;
}

/* The keeper's socket where this user may, else the visitors'. */
static struct td_link *open_either(const struct paths *paths, struct td_error *err)
{
	struct td_error keeper_err = {""};
	struct td_link *link = td_link_open(paths->keeper, &keeper_err);

	if (link)
		return link;
	bool hidden = errno == EACCES || errno == EPERM;
	link = td_link_open(paths->visitor, err);
	/* Where both fail the keeper's tells more, unless it was never meant for this user. */
	if (!link && !hidden)
		*err = keeper_err;
	return link;
}

enum td_exit td_cli_try(struct td_cli *cli, struct td_error *err)
{
	const struct td_options *options = &cli->options;
	struct paths paths = {"", ""};

	if (options->given[TD_OPTION_SOCKET]) {
		cli->link = td_link_open(options->value[TD_OPTION_SOCKET], err);
	} else if (choose_paths(options, &paths) != 0) {
		return TD_EXIT_USAGE;
	} else if (options->given[TD_OPTION_KEEPER]) {
		cli->link = td_link_open(paths.keeper, err);
	} else if (options->given[TD_OPTION_VISITOR]) {
		cli->link = td_link_open(paths.visitor, err);
	} else {
		cli->link = open_either(&paths, err);
	}
	return cli->link ? TD_EXIT_DONE : TD_EXIT_NO_CONNECTION;
}

enum td_exit td_cli_connect(struct td_cli *cli)
{
	struct td_error err = {""};
	enum td_exit code = td_cli_try(cli, &err);

	if (code == TD_EXIT_NO_CONNECTION)
		td_cli_complain("%s", err.text);
	return code;
}

/* --- calling ---------------------------------------------------------------------------------------- */

static void tell_refusal(const json_t *error, bool as_json)
{
	struct td_refusal refusal = td_refusal_read(error);
	struct td_pen pen = {.out = stderr, .width = 100000, .utf8 = true};

	(void)fflush(stdout);
	td_pen_text(&pen, "tripdog: refused: ");
	td_pen_text(&pen, refusal.sentence);
	if (refusal.rule[0] != '\0') {
		td_pen_text(&pen, " (");
		td_pen_text(&pen, refusal.rule);
		td_pen_text(&pen, ")");
	}
	if (refusal.remedy[0] != '\0') {
		td_pen_newline(&pen);
		td_pen_text(&pen, "tripdog: what to do: ");
		td_pen_text(&pen, refusal.remedy);
	}
	if (refusal.wait_ns > 0) {
		char left[24];

		td_cli_format_time(refusal.wait_ns, left, sizeof(left));
		td_pen_newline(&pen);
		td_pen_text(&pen, "tripdog: possible again in ");
		td_pen_text(&pen, left);
	}
	td_pen_newline(&pen);
	if (as_json) {
		json_t *document = json_pack("{s:O}", "error", error);

		td_cli_print_json(document);
		json_decref(document);
	}
}

enum td_exit td_cli_failed(struct td_cli *cli, enum td_link_outcome outcome, const json_t *answer,
			   const struct td_error *err)
{
	if (outcome == TD_LINK_OK)
		return TD_EXIT_DONE;
	if (outcome == TD_LINK_REFUSED) {
		tell_refusal(answer, cli->options.given[TD_OPTION_JSON]);
		/* What the command line named is not there, or out of range. */
		return td_refusal_read(answer).code == TD_CODE_PARAMS ? TD_EXIT_USAGE : TD_EXIT_REFUSED;
	}
	td_cli_complain("%s", err->text);
	return TD_EXIT_LOST;
}

enum td_exit td_cli_call(struct td_cli *cli, const char *method, json_t *params, json_t **answer)
{
	struct td_error err = {""};
	json_t *got = NULL;
	enum td_link_outcome outcome =
		td_link_call(cli->link, method, params, cli->options.timeout_ns, &got, &err);

	if (answer)
		*answer = outcome == TD_LINK_OK ? got : NULL;
	if (outcome == TD_LINK_OK && answer)
		return TD_EXIT_DONE;
	enum td_exit code = td_cli_failed(cli, outcome, got, &err);
	json_decref(got);
	return code;
}

json_t *td_cli_hello_params(void)
{
	return json_pack("{s:i}", "protocol", (int)TD_PROTOCOL);
}

enum td_exit td_cli_hello(struct td_cli *cli)
{
	return td_cli_call(cli, "hello", td_cli_hello_params(), NULL);
}

enum td_exit td_cli_open(struct td_cli *cli)
{
	enum td_exit code = td_cli_connect(cli);

	return code == TD_EXIT_DONE ? td_cli_hello(cli) : code;
}
