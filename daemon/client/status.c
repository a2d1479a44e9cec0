/* SPDX-License-Identifier: MIT */
/* tripdog status: the machine as a table, once or watched. */
#include <signal.h>
#include <unistd.h>

#include "daemon/client/cli.h"
#include "daemon/client/screen.h"
#include "daemon/client/signals.h"
#include "daemon/client/time.h"
#include "daemon/client/view.h"

/* While something moves nobody tells its position: ask. News may come in bursts: do not draw each. */
#define ASK_AGAIN_NS  TD_MS(200)
#define REDRAW_GAP_NS TD_MS(40)

struct watch {
	struct td_cli *cli;
	json_t *describe;
	struct td_screen screen;
	int signals;
	bool stale;  /* something changed since the page was drawn */
	bool moving; /* on the page */
	td_ns drawn_ns;
	bool over;
	enum td_exit code;
};

/* One status, drawn or printed. The link's failure is left to the caller, who may own the terminal. */
static enum td_link_outcome show(struct watch *watch, json_t **answer, struct td_error *err)
{
	struct td_cli *cli = watch->cli;
	struct td_view view;
	enum td_link_outcome outcome =
		td_link_call(cli->link, "status", NULL, cli->options.timeout_ns, answer, err);

	if (outcome != TD_LINK_OK)
		return outcome;
	if (td_view_read(*answer, watch->describe, &view, err) != 0)
		return TD_LINK_BROKEN;
	if (cli->options.given[TD_OPTION_JSON])
		td_cli_print_json(*answer);
	else
		td_screen_draw(&watch->screen, &cli->pen, &view);
	watch->moving = td_view_moving(&view);
	return TD_LINK_OK;
}

static void finish(struct watch *watch, enum td_exit code)
{
	watch->over = true;
	watch->code = code;
}

/* Shows once; ends the watch, with the terminal given back, if that cannot be done. */
static void show_or_finish(struct watch *watch)
{
	struct td_error err = {""};
	json_t *answer = NULL;
	enum td_link_outcome outcome = show(watch, &answer, &err);

	if (outcome != TD_LINK_OK) {
		td_screen_close(&watch->screen);
		finish(watch, td_cli_failed(watch->cli, outcome, answer, &err));
	}
	json_decref(answer);
	watch->stale = false;
	watch->drawn_ns = td_cli_now();
}

static void take_news(struct watch *watch)
{
	struct td_error err = {""};
	json_t *news = NULL;
	enum td_link_outcome got = TD_LINK_OK;

	while ((got = td_link_next_news(watch->cli->link, 0, &news, &err)) == TD_LINK_OK) {
		watch->stale = true;
		json_decref(news);
	}
	if (got == TD_LINK_BROKEN) {
		td_screen_close(&watch->screen);
		finish(watch, td_cli_failed(watch->cli, got, NULL, &err));
	}
}

static void take_signals(struct watch *watch)
{
	for (int signo; (signo = td_signals_take(watch->signals)) != 0;) {
		if (signo == SIGTSTP) {
			td_screen_close(&watch->screen);
			td_signals_suspend();
			td_screen_open(&watch->screen);
		}
		if (signo == SIGTSTP || signo == SIGWINCH)
			watch->stale = true;
		else
			finish(watch, TD_EXIT_DONE);
	}
}

/* A terminal that is gone says so by a signal. */
static void take_keys(struct watch *watch)
{
	for (int key; (key = td_keyboard_take(&watch->screen.keyboard)) > 0;)
		if (key == 'q' || key == 'Q')
			finish(watch, TD_EXIT_DONE);
}

static td_ns time_to_draw(const struct watch *watch)
{
	if (watch->stale)
		return td_time_after(watch->drawn_ns, REDRAW_GAP_NS);
	return watch->moving ? td_time_after(watch->drawn_ns, ASK_AGAIN_NS) : TD_NEVER;
}

static void watch_machine(struct watch *watch)
{
	show_or_finish(watch);
	while (!watch->over) {
		/* First, since news that came along with an answer no longer make the descriptor readable. */
		take_news(watch);
		td_ns draw_ns = time_to_draw(watch);
		td_ns now_ns = td_cli_now();

		if (watch->over)
			return;
		if (now_ns >= draw_ns) {
			show_or_finish(watch);
			continue;
		}
		(void)td_signals_wait(td_link_fd(watch->cli->link), watch->signals,
				      watch->screen.keyboard.open ? STDIN_FILENO : -1,
				      draw_ns == TD_NEVER ? TD_NEVER : draw_ns - now_ns);
		take_signals(watch);
		take_keys(watch);
	}
}

static enum td_exit start_watching(struct watch *watch)
{
	struct td_error err = {""};
	json_t *state = NULL;
	enum td_exit code = td_cli_call(watch->cli, "follow", NULL, &state);

	json_decref(state);
	if (code != TD_EXIT_DONE)
		return code;
	watch->signals = td_signals_open(&err);
	if (watch->signals < 0) {
		td_cli_complain("%s", err.text);
		return TD_EXIT_INTERNAL;
	}
	if (!watch->cli->options.given[TD_OPTION_JSON])
		td_screen_open(&watch->screen);
	watch_machine(watch);
	td_screen_close(&watch->screen);
	(void)close(watch->signals);
	return watch->code;
}

enum td_exit td_cmd_status(struct td_cli *cli, int count, char **args)
{
	struct watch watch = {.cli = cli, .signals = -1};

	(void)count;
	(void)args;
	enum td_exit code = td_cli_open(cli);
	if (code == TD_EXIT_DONE)
		code = td_cli_call(cli, "describe", NULL, &watch.describe);
	if (code != TD_EXIT_DONE)
		return code;
	if (cli->options.given[TD_OPTION_WATCH]) {
		code = start_watching(&watch);
	} else {
		show_or_finish(&watch);
		code = watch.code;
	}
	json_decref(watch.describe);
	return code;
}
