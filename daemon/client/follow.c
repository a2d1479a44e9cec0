/* SPDX-License-Identifier: MIT */
/* tripdog follow: every change as one line, until interrupted. A lost connection is made again, and what came meanwhile is told. */
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/client/cli.h"
#include "daemon/client/draw.h"
#include "daemon/client/news.h"
#include "daemon/client/signals.h"
#include "daemon/client/view.h"
#include "wire/fault.h"

/* Between two attempts to connect, doubled from the first to the last. Our own choice, no source. */
#define PAUSE_FIRST_NS TD_MS(250)
#define PAUSE_LAST_NS  TD_S(4)

enum { INSTANCE_MAX = 32 };

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

/* --- what was told ------------------------------------------------------------------------------------- */

/* What it takes to go on where a lost connection ended. */
struct following {
	struct td_cli *cli;
	int signals;
	char instance[INSTANCE_MAX]; /* life of the daemon; "" = it names none */
	int64_t last;                /* number of the newest news known of it */
	bool over;
	enum td_exit code; /* if over */
};

static void finish(struct following *following, enum td_exit code)
{
	following->over = true;
	following->code = code;
}

/* Of the first answer all before it is known; of a later one nothing new, until its news have come. */
static void remember(struct following *following, const json_t *state)
{
	const json_t *events = json_object_get(state, "events");
	const char *instance = json_string_value(json_object_get(events, "instance"));
	bool first = following->instance[0] == '\0';

	if (!instance || strcmp(instance, following->instance) == 0)
		return;
	following->last = first ? json_integer_value(json_object_get(events, "last")) : 0;
	(void)snprintf(following->instance, sizeof(following->instance), "%s", instance);
}

/* "connected again; 23 news that came meanwhile are no longer kept: move, refusal" */
static void print_again(struct td_pen *pen, const json_t *events)
{
	const json_t *of = json_object_get(events, "missed_of");
	json_int_t missed = json_integer_value(json_object_get(events, "missed"));
	char count[32];

	if (!json_is_integer(json_object_get(events, "missed"))) {
		td_pen_text(pen,
			    "connected again; the daemon was started anew, and what happened before that is "
			    "not told here");
	} else if (missed == 0) {
		td_pen_text(pen, "connected again; nothing is missing");
	} else {
		(void)snprintf(count, sizeof(count), "%" JSON_INTEGER_FORMAT, missed);
		td_pen_text(pen, "connected again; news that came meanwhile and are no longer kept: ");
		td_pen_text(pen, count);
	}
	for (size_t i = 0; i < json_array_size(of); i++) {
		const char *kind = json_string_value(json_array_get(of, i));

		td_pen_text(pen, i == 0 ? ", of the kinds " : ", ");
		td_pen_text(pen, kind ? kind : "?");
	}
	td_pen_newline(pen);
}

static void print_gap(struct td_pen *pen, json_int_t missed)
{
	char text[64];

	(void)snprintf(text, sizeof(text), "(news left out here: %" JSON_INTEGER_FORMAT ")", missed);
	td_pen_text(pen, text);
	td_pen_newline(pen);
}

static void tell_dropped(const json_t *params)
{
	const char *sentence = json_string_value(json_object_get(params, "sentence"));

	td_cli_complain("the daemon drops this connection: %s", sentence ? sentence : "it does not say why");
}

static void show_news(struct following *following, const json_t *notification)
{
	struct td_cli *cli = following->cli;
	const json_t *params = json_object_get(notification, "params");
	const char *method = json_string_value(json_object_get(notification, "method"));
	json_int_t missed = json_integer_value(json_object_get(params, "missed"));
	struct td_news_line news;
	bool is_news = td_news_read(notification, &news);

	if (is_news)
		following->last = json_integer_value(json_object_get(params, "n"));
	if (strcmp(method, "dropped") == 0)
		tell_dropped(params);
	if (cli->options.given[TD_OPTION_JSON]) {
		td_cli_print_json(notification);
		return;
	}
	if (missed > 0)
		print_gap(&cli->pen, missed);
	if (is_news)
		td_news_print(&cli->pen, &news);
}

/* --- as long as it lasts ------------------------------------------------------------------------------- */

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

/* Until the connection ends, or the user ends it. */
static void follow(struct following *following, struct td_error *err)
{
	while (!following->over) {
		json_t *news = NULL;
		enum td_link_outcome got = td_link_next_news(following->cli->link, 0, &news, err);

		if (got == TD_LINK_OK)
			show_news(following, news);
		else if (got == TD_LINK_TIMEOUT)
			(void)td_signals_wait(td_link_fd(following->cli->link), following->signals, -1,
					      TD_NEVER);
		else
			return;
		json_decref(news);
		if (interrupted(following->signals))
			finish(following, TD_EXIT_DONE);
	}
}

/* --- again --------------------------------------------------------------------------------------------- */

static json_t *since_last(const struct following *following)
{
	if (following->instance[0] == '\0')
		return NULL;
	return json_pack("{s:I, s:s}", "since", (json_int_t)following->last, "instance", following->instance);
}

static void go_on(struct following *following, const json_t *state)
{
	struct td_cli *cli = following->cli;
	enum td_exit code = show_start(cli, state);

	if (code != TD_EXIT_DONE)
		finish(following, code);
	else if (!cli->options.given[TD_OPTION_JSON])
		print_again(&cli->pen, json_object_get(state, "events"));
	(void)fflush(cli->pen.out);
	remember(following, state);
}

/* A daemon that just starts, or is full, has a place later; one that understands nothing of it never has. */
static bool may_work_later(const json_t *refusal)
{
	int64_t code = td_refusal_read(refusal).code;

	return code == TD_CODE_NOT_READY || code == TD_CODE_BUSY;
}

/* The daemon that is there now may be another than before. */
static enum td_link_outcome say_hello_and_follow(const struct following *following, json_t **answer,
						 struct td_error *err)
{
	struct td_cli *cli = following->cli;
	td_ns timeout_ns = cli->options.timeout_ns;
	enum td_link_outcome outcome =
		td_link_call(cli->link, "hello", td_cli_hello_params(), timeout_ns, answer, err);

	if (outcome != TD_LINK_OK)
		return outcome;
	json_decref(*answer);
	return td_link_call(cli->link, "follow", since_last(following), timeout_ns, answer, err);
}

/* True: it follows again, or it is over. */
static bool try_again(struct following *following)
{
	struct td_cli *cli = following->cli;
	struct td_error err = {""};
	json_t *answer = NULL;

	td_link_close(cli->link);
	cli->link = NULL;
	if (td_cli_try(cli, &err) != TD_EXIT_DONE)
		return false;
	enum td_link_outcome outcome = say_hello_and_follow(following, &answer, &err);

	if (outcome == TD_LINK_OK)
		go_on(following, answer);
	else if (outcome == TD_LINK_REFUSED && !may_work_later(answer))
		finish(following, td_cli_failed(cli, outcome, answer, &err));
	json_decref(answer);
	return outcome == TD_LINK_OK || following->over;
}

static void connect_again(struct following *following)
{
	td_ns pause_ns = PAUSE_FIRST_NS;
	bool again = false;

	while (!again && !following->over) {
		(void)td_signals_wait(following->signals, -1, -1, pause_ns);
		if (interrupted(following->signals))
			finish(following, TD_EXIT_DONE);
		else
			again = try_again(following);
		pause_ns = pause_ns < PAUSE_LAST_NS ? 2 * pause_ns : PAUSE_LAST_NS;
	}
}

static void follow_to_the_end(struct following *following)
{
	while (!following->over) {
		struct td_error err = {""};

		follow(following, &err);
		if (following->over)
			return;
		if (following->cli->options.given[TD_OPTION_ONCE]) {
			finish(following, td_cli_failed(following->cli, TD_LINK_BROKEN, NULL, &err));
			return;
		}
		td_cli_complain("%s; trying to connect again", err.text);
		connect_again(following);
	}
}

enum td_exit td_cmd_follow(struct td_cli *cli, int count, char **args)
{
	struct following following = {.cli = cli};
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
	remember(&following, state);
	json_decref(state);
	if (code != TD_EXIT_DONE)
		return code;
	following.signals = td_signals_open(&err);
	if (following.signals < 0) {
		td_cli_complain("%s", err.text);
		return TD_EXIT_INTERNAL;
	}
	follow_to_the_end(&following);
	(void)close(following.signals);
	return following.code;
}
