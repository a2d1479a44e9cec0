/* SPDX-License-Identifier: MIT */
/*
 * tripdog hold: hold-to-run for a time. The hold ends when this process lets go, and if it cannot (killed,
 * stopped, stuck) by the lease running out or the connection closing; it never needs this process to end.
 */
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "daemon/client/cli.h"
#include "daemon/client/hold_end.h"
#include "daemon/client/names.h"
#include "daemon/client/news.h"
#include "daemon/client/renewal.h"
#include "daemon/client/signals.h"
#include "daemon/client/time.h"
#include "daemon/client/turn.h"

enum { HOLD_NUMBER = 1 };

struct hold {
	struct td_cli *cli;
	const char *axis;
	const char *way;
	td_ns lease_ns;
	td_ns end_ns;   /* let go then */
	td_ns heard_ns; /* last sign of life of the daemon */
	struct td_renewal renewal;
	json_int_t seq;
	int signals;
	bool over;
	enum td_exit code;
};

/* --- asking ----------------------------------------------------------------------------------------- */

/* Checks the names and learns the lease. */
static enum td_exit learn(struct hold *hold)
{
	json_t *describe = NULL;
	enum td_exit code = td_cli_call(hold->cli, "describe", NULL, &describe);

	if (code != TD_EXIT_DONE)
		return code;
	code = td_names_check(describe, hold->axis, hold->way);
	if (code == TD_EXIT_DONE)
		code = td_lease_read(describe, &hold->lease_ns);
	json_decref(describe);
	return code;
}

static json_t *request_params(const struct hold *hold)
{
	return json_pack("{s:s, s:s, s:i, s:I, s:I, s:s}", "axis", hold->axis, "way", hold->way, "hold",
			 HOLD_NUMBER, "seq", hold->seq, "lease_ms", (json_int_t)(hold->lease_ns / TD_MS(1)),
			 "token", td_link_token(hold->cli->link));
}

static enum td_exit begin(struct hold *hold)
{
	json_t *answer = NULL;
	enum td_exit code = td_cli_call(hold->cli, "follow", NULL, &answer);

	if (code == TD_EXIT_DONE)
		code = td_turn_wait(hold->cli, hold->signals, answer);
	json_decref(answer);
	if (code == TD_EXIT_DONE) /* the token of before may have grown old in line */
		code = td_cli_hello(hold->cli);
	if (code != TD_EXIT_DONE)
		return code;
	td_ns now_ns = td_cli_now();
	code = td_cli_call(hold->cli, "request", request_params(hold), &answer);
	if (code == TD_EXIT_DONE && hold->cli->options.given[TD_OPTION_JSON])
		td_cli_print_json(answer);
	json_decref(code == TD_EXIT_DONE ? answer : NULL);
	hold->end_ns = td_time_after(now_ns, hold->cli->options.hold_ns);
	hold->renewal = td_renewal_of(hold->lease_ns);
	td_renewal_sent(&hold->renewal, 0, now_ns); /* and is answered */
	hold->heard_ns = td_cli_now();
	return code;
}

static void finish(struct hold *hold, enum td_exit code)
{
	hold->over = true;
	hold->code = code;
}

/* The link gave out: whatever is held ends by its lease. */
static void lose(struct hold *hold, const struct td_error *err)
{
	char lease[24];

	td_cli_format_time(hold->lease_ns, lease, sizeof(lease));
	td_cli_complain("%s; the daemon lets go by itself within %s", err->text, lease);
	finish(hold, TD_EXIT_LOST);
}

static void renew(struct hold *hold, td_ns now_ns)
{
	struct td_error err = {""};
	int64_t id = 0;

	hold->seq++;
	enum td_link_outcome sent =
		td_link_send(hold->cli->link, "request", request_params(hold), hold->lease_ns, &id, &err);
	if (sent != TD_LINK_OK)
		lose(hold, &err);
	td_renewal_sent(&hold->renewal, id, now_ns);
}

/* --- listening -------------------------------------------------------------------------------------- */

/* The daemon ended the hold; `cause` may be NONE where it is not known. */
static void end_by_daemon(struct hold *hold, enum td_cause cause)
{
	if (!td_hold_end_ends(cause))
		cause = td_hold_end_ask(hold->cli, hold->axis, hold->way, cause);
	finish(hold, td_hold_end_tell(hold->cli, hold->axis, cause));
}

static void take_news(struct hold *hold, const json_t *notification)
{
	struct td_news_line news;

	if (!td_news_read(notification, &news) || strcmp(news.axis, hold->axis) != 0)
		return;
	if (hold->cli->options.given[TD_OPTION_JSON])
		td_cli_print_json(notification);
	else
		td_news_print(&hold->cli->pen, &news);
	if (!hold->over && strcmp(news.holder, "other") != 0 && td_hold_end_ends(news.cause))
		end_by_daemon(hold, news.cause);
}

static void take_message(struct hold *hold, const struct td_link_message *message)
{
	if (message->kind == TD_LINK_NEWS) {
		take_news(hold, message->body);
	} else if (message->kind == TD_LINK_ERROR) {
		enum td_cause cause = td_refusal_read(message->body).cause;

		/* A renewal that came late or out of order, or met a busy daemon, changes nothing: the lease decides. */
		if (cause != TD_CAUSE_LATE && cause != TD_CAUSE_STALE && cause != TD_CAUSE_NONE &&
		    !hold->over)
			end_by_daemon(hold, cause);
	}
	if (message->kind != TD_LINK_NEWS)
		td_renewal_answered(&hold->renewal, message->id, hold->heard_ns);
}

static void listen_to_daemon(struct hold *hold)
{
	struct td_link_message message;
	struct td_error err = {""};
	enum td_link_outcome got = TD_LINK_OK;

	while (!hold->over && (got = td_link_next(hold->cli->link, 0, &message, &err)) == TD_LINK_OK) {
		hold->heard_ns = td_cli_now();
		take_message(hold, &message);
		json_decref(message.body);
	}
	if (got == TD_LINK_BROKEN)
		lose(hold, &err);
}

/* --- letting go ------------------------------------------------------------------------------------- */

static void let_go(struct hold *hold, enum td_exit code, const char *why)
{
	struct td_cli *cli = hold->cli;
	struct td_error err = {""};
	json_t *answer = NULL;
	enum td_link_outcome outcome = td_link_call(
		cli->link, "release", json_pack("{s:s, s:i}", "axis", hold->axis, "hold", HOLD_NUMBER),
		cli->options.timeout_ns, &answer, &err);

	if (outcome == TD_LINK_OK) {
		if (cli->options.given[TD_OPTION_JSON])
			td_cli_print_json(answer);
		else
			(void)printf("%s: let go%s\n", hold->axis, why);
		finish(hold, code);
	} else if (outcome == TD_LINK_REFUSED) {
		/* It ended a moment before: the news that say why came first, or else status says. */
		listen_to_daemon(hold);
		if (!hold->over)
			end_by_daemon(hold, TD_CAUSE_NONE);
	} else {
		lose(hold, &err);
	}
	json_decref(answer);
}

static void take_signals(struct hold *hold)
{
	for (int signo; !hold->over && (signo = td_signals_take(hold->signals)) != 0;) {
		if (signo == SIGWINCH)
			continue;
		let_go(hold, TD_EXIT_HOLD_ENDED, signo == SIGTSTP ? ", suspended" : ", interrupted");
		(void)fflush(stdout);
		if (signo == SIGTSTP)
			td_signals_suspend();
	}
}

/* --- the loop ---------------------------------------------------------------------------------------- */

static void check_silence(struct hold *hold, td_ns now_ns)
{
	struct td_error err = {"the daemon has stopped answering"};

	if (td_time_between(hold->heard_ns, now_ns) > hold->cli->options.timeout_ns + hold->lease_ns)
		lose(hold, &err);
}

static void turn(struct hold *hold)
{
	listen_to_daemon(hold);
	if (!hold->over)
		take_signals(hold);
	td_ns now_ns = td_cli_now();
	if (!hold->over)
		check_silence(hold, now_ns);
	if (!hold->over && now_ns >= hold->end_ns)
		let_go(hold, TD_EXIT_DONE, "");
	if (!hold->over && now_ns >= hold->renewal.due_ns)
		renew(hold, now_ns);
	if (!hold->over)
		(void)td_signals_wait(
			td_link_fd(hold->cli->link), hold->signals, -1,
			td_time_between(now_ns, td_time_earlier(hold->end_ns, hold->renewal.due_ns)));
}

enum td_exit td_cmd_hold(struct td_cli *cli, int count, char **args)
{
	struct hold hold = {.cli = cli, .axis = args[0], .way = args[1]};
	struct td_error err = {""};

	(void)count;
	enum td_exit code = td_cli_open(cli);
	if (code == TD_EXIT_DONE)
		code = learn(&hold);
	if (code != TD_EXIT_DONE)
		return code;
	hold.signals = td_signals_open(&err);
	if (hold.signals < 0) {
		td_cli_complain("%s", err.text);
		return TD_EXIT_INTERNAL;
	}
	code = begin(&hold);
	if (code == TD_EXIT_DONE) {
		while (!hold.over)
			turn(&hold);
		code = hold.code;
	}
	(void)close(hold.signals);
	return code;
}
