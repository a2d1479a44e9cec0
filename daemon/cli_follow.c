/* SPDX-License-Identifier: MIT */
/* tripdog follow: every change as one line, until interrupted. */
#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include "daemon/cli.h"
#include "daemon/cli_draw.h"
#include "daemon/cli_news.h"
#include "daemon/cli_signals.h"
#include "daemon/cli_view.h"

/* "glasshouse cart: armed, latched stop off; boom still, vent TRIPPED" */
static void print_start(struct td_pen *pen, const struct td_view *view)
{
	td_pen_text(pen, view->machine);
	td_pen_text(pen, view->armed ? ": armed, " : ": NOT ARMED, ");
	td_pen_text(pen, view->latches > 0 ? "latched stop ON" : "latched stop off");
	for (size_t i = 0; i < view->axes; i++) {
		td_pen_text(pen, i == 0 ? "; " : ", ");
		td_pen_text(pen, view->axis[i].name);
		td_pen_text(pen, " ");
		td_pen_text(pen, td_draw_state_word(view->axis[i].state));
	}
	td_pen_newline(pen);
	(void)fflush(pen->out);
}

static enum td_exit show_start(struct td_cli *cli, const json_t *state)
{
	struct td_view view;
	struct td_error err = {""};

	if (cli->options.given[TD_OPTION_JSON]) {
		td_cli_print_json(state);
	} else if (td_view_read(state, NULL, &view, &err) == 0) {
		print_start(&cli->pen, &view);
	} else {
		td_cli_complain("%s", err.text);
		return TD_EXIT_LOST;
	}
	return TD_EXIT_DONE;
}

static void show_news(struct td_cli *cli, const json_t *notification)
{
	struct td_news_line news;

	if (cli->options.given[TD_OPTION_JSON])
		td_cli_print_json(notification);
	else if (td_news_read(notification, &news))
		td_news_print(&cli->pen, &news);
}

/* True: the user wants an end. */
static bool interrupted(int signals)
{
	for (int signo; (signo = td_signals_take(signals)) != 0;) {
		if (signo == SIGTSTP)
			td_signals_suspend();
		else if (signo != SIGWINCH)
			return true;
	}
	return false;
}

static enum td_exit follow(struct td_cli *cli, int signals)
{
	struct td_error err = {""};

	while (!interrupted(signals)) {
		json_t *news = NULL;
		enum td_link_outcome got = td_link_next_news(cli->link, 0, &news, &err);

		if (got == TD_LINK_OK)
			show_news(cli, news);
		else if (got == TD_LINK_TIMEOUT)
			(void)td_signals_wait(td_link_fd(cli->link), signals, -1, TD_NEVER);
		else
			return td_cli_failed(cli, got, NULL, &err);
		json_decref(news);
	}
	return TD_EXIT_DONE;
}

enum td_exit td_cmd_follow(struct td_cli *cli, int count, char **args)
{
	struct td_error err = {""};
	json_t *state = NULL;
	enum td_exit code = td_cli_open(cli);

	(void)count;
	(void)args;
	if (code == TD_EXIT_DONE)
		code = td_cli_call(cli, "follow", NULL, &state);
	if (code != TD_EXIT_DONE)
		return code;
	code = show_start(cli, state);
	json_decref(state);
	if (code != TD_EXIT_DONE)
		return code;
	int signals = td_signals_open(&err);
	if (signals < 0) {
		td_cli_complain("%s", err.text);
		return TD_EXIT_INTERNAL;
	}
	code = follow(cli, signals);
	(void)close(signals);
	return code;
}
