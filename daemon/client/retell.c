/* SPDX-License-Identifier: MIT */
/* tripdog retell: why the machine stopped, out of its traces. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "daemon/cautions.h"
#include "daemon/client/cli.h"
#include "daemon/retell/retell.h"
#include "daemon/retell/read.h"

enum { LABEL_COLUMNS = 12 };

/* --- where the traces are ---------------------------------------------------------------------------- */

static enum td_exit dir_of_config(const char *file, char dir[TD_RETELL_PATH_MAX])
{
	struct td_config *config = calloc(1, sizeof(*config));
	struct td_config_faults *faults = calloc(1, sizeof(*faults));
	enum td_exit code = TD_EXIT_DONE;

	if (!config || !faults) {
		td_cli_complain("out of memory");
		code = TD_EXIT_INTERNAL;
	} else if (!td_config_read(file, config, faults)) {
		td_cli_complain("%s", faults->fault[0].text);
		code = TD_EXIT_USAGE;
	} else {
		(void)snprintf(dir, TD_RETELL_PATH_MAX, "%s/traces", config->state_dir);
	}
	free(config);
	free(faults);
	return code;
}

static enum td_exit dir_of_daemon(struct td_cli *cli, char dir[TD_RETELL_PATH_MAX])
{
	json_t *answer = NULL;
	enum td_exit code = td_cli_open(cli);

	if (code == TD_EXIT_DONE)
		code = td_cli_call(cli, "describe", NULL, &answer);
	if (code != TD_EXIT_DONE) {
		td_cli_complain(
			"where are the traces? name their directory with --dir, or the configuration with "
			"--config");
		return code;
	}
	const char *named = json_string_value(json_object_get(answer, "traces"));
	if (named)
		(void)snprintf(dir, TD_RETELL_PATH_MAX, "%s", named);
	json_decref(answer);
	if (named)
		return TD_EXIT_DONE;
	td_cli_complain(
		"the daemon tells only the keeper where the traces are: name their directory with --dir");
	return TD_EXIT_UNREADABLE;
}

static enum td_exit find_dir(struct td_cli *cli, char dir[TD_RETELL_PATH_MAX])
{
	const struct td_options *options = &cli->options;

	if (options->given[TD_OPTION_DIR]) {
		(void)snprintf(dir, TD_RETELL_PATH_MAX, "%s", options->value[TD_OPTION_DIR]);
		return TD_EXIT_DONE;
	}
	if (options->given[TD_OPTION_CONFIG])
		return dir_of_config(options->value[TD_OPTION_CONFIG], dir);
	return dir_of_daemon(cli, dir);
}

/* --- telling ----------------------------------------------------------------------------------------- */

static void tell_line(struct td_pen *pen, const char *label, const char *text)
{
	td_pen_ink(pen, TD_INK_STRONG);
	td_pen_field(pen, label, LABEL_COLUMNS);
	td_pen_ink(pen, TD_INK_PLAIN);
	td_pen_fold(pen, text, LABEL_COLUMNS);
	td_pen_newline(pen);
}

static void tell(struct td_pen *pen, const struct td_tale *tale)
{
	static const char *const cautions[] = {
#define TD_X(words) words,
		TD_CAUTION_TABLE(TD_X)
#undef TD_X
	};

	td_pen_ink(pen, tale->grave ? TD_INK_ALARM : TD_INK_STRONG);
	td_pen_fold(pen, tale->headline, 0);
	td_pen_newline(pen);
	td_pen_newline(pen);
	for (size_t i = 0; i < tale->lines; i++) {
		bool again = i > 0 && tale->line[i].part == tale->line[i - 1].part;

		tell_line(pen, again ? "" : td_tale_label(tale->line[i].part), tale->line[i].text);
	}
	td_pen_newline(pen);
	td_pen_text(pen, "! ");
	td_pen_fold(pen, cautions[0], 2);
	td_pen_newline(pen);
}

static void tell_json(const struct td_retell *retell, const struct td_tale *tale)
{
	const struct td_account *account = &retell->accountant.account;
	const struct td_cause_info *info = td_cause_info(account->cause);
	json_t *lines = json_array();

	for (size_t i = 0; i < tale->lines; i++)
		json_array_append_new(lines,
				      json_pack("{s:s, s:s}", "about", td_tale_label(tale->line[i].part),
						"text", tale->line[i].text));
	json_t *document = json_pack(
		"{s:s, s:s, s:s, s:s, s:o, s:I, s:I, s:b, s:o}", "headline", tale->headline, "cause",
		info->name, "rule", info->rule, "trace", retell->path, "axis",
		account->axis < retell->config.axes ? json_string(retell->config.axis[account->axis].name)
						    : json_null(),
		"unix_ns", (json_int_t)account->wall_ns, "at_ns", (json_int_t)account->at_ns, "reset",
		account->reset, "lines", lines);
	td_cli_print_json(document);
	json_decref(document);
}

static void tell_it(struct td_cli *cli, const struct td_retell *retell)
{
	static struct td_tale tale;
	struct timespec now = {0};

	(void)clock_gettime(CLOCK_REALTIME, &now);
	td_tale_tell(&tale, &retell->accountant.account, &retell->config, TD_S(now.tv_sec) + now.tv_nsec,
		     retell->path);
	if (cli->options.given[TD_OPTION_JSON])
		tell_json(retell, &tale);
	else
		tell(&cli->pen, &tale);
	if (strcmp(retell->version, TD_VERSION) != 0)
		td_cli_complain(
			"the trace is of version %s, this is %s: words and figures may differ from what the "
			"daemon knew",
			retell->version, TD_VERSION);
	if (retell->cut_off)
		td_cli_complain("%s: its end is missing: a power cut took it, or it is still being written",
				retell->path);
	if (retell->later.text[0] != '\0')
		td_cli_complain("what came later is not all known: %s", retell->later.text);
}

static enum td_exit code_of(enum td_retell_result result)
{
	if (result == TD_RETELL_FOUND)
		return TD_EXIT_DONE;
	return result == TD_RETELL_NOTHING ? TD_EXIT_NOTHING : TD_EXIT_UNREADABLE;
}

static enum td_exit retell(struct td_cli *cli, struct td_retell *retell, const char *file)
{
	enum td_account_want want = cli->options.given[TD_OPTION_STOP] ? TD_ACCOUNT_STOP : TD_ACCOUNT_TRIP;
	char dir[TD_RETELL_PATH_MAX];
	struct td_error err = {""};
	enum td_retell_result result;

	if (file) {
		result = td_retell_file(retell, want, file, &err);
	} else {
		enum td_exit code = find_dir(cli, dir);

		if (code != TD_EXIT_DONE)
			return code;
		result = td_retell_dir(retell, want, dir, &err);
	}
	if (retell->accountant.account.found)
		tell_it(cli, retell);
	if (result != TD_RETELL_FOUND)
		td_cli_complain("%s", err.text);
	return code_of(result);
}

enum td_exit td_cmd_retell(struct td_cli *cli, int count, char **args)
{
	struct td_retell *all;

	if (count > 0 && cli->options.given[TD_OPTION_DIR]) {
		td_cli_complain("FILE and --dir exclude each other: give one of them");
		return TD_EXIT_USAGE;
	}
	all = calloc(1, sizeof(*all));
	if (!all) {
		td_cli_complain("out of memory");
		return TD_EXIT_INTERNAL;
	}
	enum td_exit code = retell(cli, all, count > 0 ? args[0] : NULL);
	free(all);
	return code;
}
