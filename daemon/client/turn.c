/* SPDX-License-Identifier: MIT */
#include "daemon/client/turn.h"

#include <signal.h>
#include <string.h>

#include "daemon/client/signals.h"
#include "daemon/client/time.h"

struct wait {
	struct td_cli *cli;
	struct td_turn_view view;
	int64_t told_place; /* -1: nothing was told yet */
	bool over;
	enum td_exit code;
};

struct td_turn_view td_turn_view_read(const json_t *turn)
{
	struct td_turn_view view = {.place = -1};
	const json_t *place = json_object_get(turn, "place");

	view.needed = json_is_true(json_object_get(turn, "needed"));
	view.yours = json_is_true(json_object_get(turn, "yours"));
	view.closed = json_is_true(json_object_get(turn, "closed"));
	view.line = json_integer_value(json_object_get(turn, "line"));
	if (json_is_integer(place))
		view.place = json_integer_value(place);
	view.wait_ms = json_integer_value(json_object_get(turn, "wait_ms"));
	view.left_ms = json_integer_value(json_object_get(turn, "left_ms"));
	return view;
}

void td_turn_sentence(const struct td_turn_view *view, char out[TD_TURN_SENTENCE_MAX])
{
	const char *visitors = view->line == 1 ? "visitor" : "visitors";
	char span[24];

	out[0] = '\0';
	td_cli_format_time(TD_MS(view->yours ? view->left_ms : view->wait_ms), span, sizeof(span));
	if (view->closed)
		(void)snprintf(out, TD_TURN_SENTENCE_MAX, "closed to visitors; %lld in line",
			       (long long)view->line);
	else if (view->yours)
		(void)snprintf(out, TD_TURN_SENTENCE_MAX, "the turn is yours, %s left%s", span,
			       view->line > 1 ? "; others wait" : "");
	else if (view->place >= 0)
		(void)snprintf(out, TD_TURN_SENTENCE_MAX,
			       "%lld before you; your turn comes in %s at the latest", (long long)view->place,
			       span);
	else if (view->needed || view->line > 0)
		(void)snprintf(out, TD_TURN_SENTENCE_MAX,
			       "%lld %s in line; a turn would come in %s at the latest",
			       (long long)view->line, visitors, span);
}

static void finish(struct wait *wait, enum td_exit code)
{
	wait->over = true;
	wait->code = code;
}

/* Each place once: it is a person who waits. */
static void tell(struct wait *wait)
{
	char text[TD_TURN_SENTENCE_MAX];

	if (wait->view.place == wait->told_place)
		return;
	wait->told_place = wait->view.place;
	td_turn_sentence(&wait->view, text);
	td_cli_complain("in line: %s", text);
}

static void look(struct wait *wait, const json_t *turn)
{
	wait->view = td_turn_view_read(turn);
	if (wait->view.yours || !wait->view.needed)
		finish(wait, TD_EXIT_DONE);
	else
		tell(wait);
}

static void take_news(struct wait *wait)
{
	struct td_error err = {""};
	json_t *news = NULL;
	enum td_link_outcome got = TD_LINK_OK;

	while (!wait->over && (got = td_link_next_news(wait->cli->link, 0, &news, &err)) == TD_LINK_OK) {
		const char *method = json_string_value(json_object_get(news, "method"));

		if (method && strcmp(method, "turn") == 0)
			look(wait, json_object_get(news, "params"));
		json_decref(news);
	}
	if (got == TD_LINK_BROKEN)
		finish(wait, td_cli_failed(wait->cli, got, NULL, &err));
}

static void take_signals(struct wait *wait, int signals)
{
	for (int signo; !wait->over && (signo = td_signals_take(signals)) != 0;)
		if (signo == SIGTSTP)
			td_signals_suspend();
		else if (signo != SIGWINCH)
			finish(wait, TD_EXIT_HOLD_ENDED);
}

enum td_exit td_turn_wait(struct td_cli *cli, int signals, const json_t *status)
{
	struct wait wait = {.cli = cli, .told_place = -1};
	json_t *answer = NULL;

	wait.view = td_turn_view_read(json_object_get(status, "turn"));
	if (!wait.view.needed || wait.view.yours)
		return TD_EXIT_DONE;
	enum td_exit code = td_cli_call(cli, "join", NULL, &answer);

	if (code != TD_EXIT_DONE)
		return code;
	look(&wait, json_object_get(answer, "turn"));
	json_decref(answer);
	while (!wait.over) {
		take_news(&wait);
		if (!wait.over)
			(void)td_signals_wait(td_link_fd(cli->link), signals, -1, TD_NEVER);
		take_signals(&wait, signals);
	}
	return wait.code;
}
