/* SPDX-License-Identifier: MIT */
/*
 * tripdog keys: hold-to-run by the keyboard of a terminal. Nothing here has to work for motion to end: a key that does not come
 * again, a lease that is not renewed, a connection that closes each end it.
 */
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/limits.h"
#include "daemon/client/cli.h"
#include "daemon/client/grip.h"
#include "daemon/client/keyboard.h"
#include "daemon/client/names.h"
#include "daemon/client/news.h"
#include "daemon/client/renewal.h"
#include "daemon/client/signals.h"
#include "daemon/client/time.h"
#include "daemon/client/turn.h"
#include "daemon/client/hold_end.h"

/* One column of a keyboard for an axis: the upper key is its second way (raise, forward, open). */
static const char key_of[][TD_WAYS] = {{'a', 'q'}, {'s', 'w'}, {'d', 'e'}, {'f', 'r'},
				       {'g', 't'}, {'h', 'y'}, {'j', 'u'}, {'k', 'i'}};

enum { KEYED_AXES = sizeof(key_of) / sizeof(key_of[0]), END_KEY = 'x' };

/* So often a new token is asked for, so that a key that comes starts with one that is young. */
#define HELLO_NS TD_MS(100)

struct keyed {
	const char *name; /* borrowed from the description */
	const char *way[TD_WAYS];
	struct td_grip grip;
	json_int_t seq;
	json_int_t hold;
	struct td_renewal renewal;
	int64_t asked; /* id of the request that began the hold */
};

struct keys {
	struct td_cli *cli;
	struct td_keyboard keyboard;
	json_t *describe;
	int signals;
	size_t axes;
	struct keyed axis[KEYED_AXES];
	json_int_t holds; /* numbers given out */
	td_ns lease_ns;
	td_ns hello_ns; /* the next one */
	bool over;
	enum td_exit code;
};

static void finish(struct keys *keys, enum td_exit code)
{
	keys->over = true;
	keys->code = code;
}

static void lose(struct keys *keys, const struct td_error *err)
{
	td_cli_complain("%s; whatever moves ends by itself", err->text);
	finish(keys, TD_EXIT_LOST);
}

/* --- what there is --------------------------------------------------------------------------------------- */

static const char *name_of(const json_t *object)
{
	const char *name = json_string_value(json_object_get(object, "name"));

	return name ? name : "";
}

static enum td_exit learn(struct keys *keys)
{
	enum td_exit code = td_cli_call(keys->cli, "describe", NULL, &keys->describe);

	if (code != TD_EXIT_DONE)
		return code;
	const json_t *axes = json_object_get(keys->describe, "axes");

	code = td_lease_read(keys->describe, &keys->lease_ns);
	if (code != TD_EXIT_DONE)
		return code;
	keys->axes = json_array_size(axes) < KEYED_AXES ? json_array_size(axes) : KEYED_AXES;
	for (size_t i = 0; i < keys->axes; i++) {
		const json_t *axis = json_array_get(axes, i);

		keys->axis[i].name = name_of(axis);
		for (size_t way = 0; way < TD_WAYS; way++)
			keys->axis[i].way[way] = name_of(json_array_get(json_object_get(axis, "ways"), way));
	}
	return TD_EXIT_DONE;
}

static void print_map(const struct keys *keys)
{
	for (size_t i = 0; i < keys->axes; i++)
		(void)printf(" %c %s %s, %c %s\n", key_of[i][0], keys->axis[i].name, keys->axis[i].way[0],
			     key_of[i][1], keys->axis[i].way[1]);
	(void)printf(" hold a key down to move; space stops everything, %c ends\n", END_KEY);
	(void)fflush(stdout);
}

/* --- asking ---------------------------------------------------------------------------------------------- */

static void send_call(struct keys *keys, const char *method, json_t *params, int64_t *id)
{
	struct td_error err = {""};

	if (td_link_send(keys->cli->link, method, params, keys->lease_ns, id, &err) != TD_LINK_OK)
		lose(keys, &err);
}

/* The id of the call. */
static int64_t ask(struct keys *keys, struct keyed *axis, td_ns now_ns)
{
	int64_t id = 0;

	send_call(keys, "request",
		  json_pack("{s:s, s:s, s:I, s:I, s:s}", "axis", axis->name, "way", axis->way[axis->grip.way],
			    "hold", axis->hold, "seq", axis->seq, "token", td_link_token(keys->cli->link)),
		  &id);
	td_renewal_sent(&axis->renewal, id, now_ns);
	axis->seq++;
	return id;
}

static void take(struct keys *keys, struct keyed *axis, td_ns now_ns)
{
	axis->hold = ++keys->holds;
	axis->seq = 0;
	axis->renewal = td_renewal_of(keys->lease_ns);
	axis->asked = ask(keys, axis, now_ns);
}

static void say_hello(struct keys *keys, td_ns now_ns)
{
	int64_t id = 0;

	keys->hello_ns = td_time_after(now_ns, HELLO_NS);
	send_call(keys, "hello", td_cli_hello_params(), &id);
}

static void let_go(struct keys *keys, const struct keyed *axis)
{
	int64_t id = 0;

	send_call(keys, "release", json_pack("{s:s, s:I}", "axis", axis->name, "hold", axis->hold), &id);
}

static void end_all(struct keys *keys)
{
	for (size_t i = 0; i < keys->axes; i++) {
		if (keys->axis[i].grip.held)
			let_go(keys, &keys->axis[i]);
		td_grip_end(&keys->axis[i].grip);
	}
}

static void stop_all(struct keys *keys)
{
	int64_t id = 0;

	send_call(keys, "stop", NULL, &id);
	for (size_t i = 0; i < keys->axes; i++)
		td_grip_end(&keys->axis[i].grip);
}

/* --- keys ------------------------------------------------------------------------------------------------- */

static void press(struct keys *keys, int key, td_ns now_ns)
{
	for (size_t i = 0; i < keys->axes; i++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if (key == key_of[i][way] &&
			    td_grip_key(&keys->axis[i].grip, way, now_ns) == TD_GRIP_TAKE)
				take(keys, &keys->axis[i], now_ns);
}

static void take_keys(struct keys *keys)
{
	int key = 0;

	while (!keys->over && (key = td_keyboard_take(&keys->keyboard)) > 0) {
		if (key == END_KEY)
			finish(keys, TD_EXIT_DONE);
		else if (key == ' ')
			stop_all(keys);
		else
			press(keys, key, td_cli_now());
	}
	if (key < 0)
		finish(keys, TD_EXIT_HOLD_ENDED);
}

/* Motion ends before this process stops being there for it. */
static void take_signals(struct keys *keys)
{
	for (int signo; !keys->over && (signo = td_signals_take(keys->signals)) != 0;) {
		if (signo == SIGWINCH)
			continue;
		if (signo != SIGTSTP) {
			finish(keys, TD_EXIT_HOLD_ENDED);
			continue;
		}
		end_all(keys);
		td_keyboard_close(&keys->keyboard);
		td_signals_suspend();
		if (!td_keyboard_open(&keys->keyboard))
			finish(keys, TD_EXIT_HOLD_ENDED);
	}
}

/* --- what the daemon says --------------------------------------------------------------------------------- */

static void take_news(struct keys *keys, const json_t *notification)
{
	json_int_t hold =
		json_integer_value(json_object_get(json_object_get(notification, "params"), "hold"));
	struct td_news_line news;

	if (!td_news_read(notification, &news))
		return;
	td_news_print(&keys->cli->pen, &news);
	for (size_t i = 0; i < keys->axes; i++)
		if (strcmp(keys->axis[i].name, news.axis) == 0 && strcmp(news.holder, "you") == 0 &&
		    hold == keys->axis[i].hold && td_hold_end_ends(news.cause))
			td_grip_end(&keys->axis[i].grip);
}

/* A request that began a hold was refused; a renewal that was says the same as the news. */
static void take_refusal(struct keys *keys, const struct td_link_message *message)
{
	for (size_t i = 0; i < keys->axes; i++) {
		struct keyed *axis = &keys->axis[i];

		if (axis->asked != message->id || !axis->grip.held)
			continue;
		td_grip_end(&axis->grip);
		td_cli_complain("%s %s: %s", axis->name, axis->way[axis->grip.way],
				td_refusal_read(message->body).sentence);
	}
}

static void take_answer(struct keys *keys, const struct td_link_message *message)
{
	for (size_t i = 0; i < keys->axes; i++)
		td_renewal_answered(&keys->axis[i].renewal, message->id, td_cli_now());
	if (message->kind == TD_LINK_ERROR)
		take_refusal(keys, message);
}

static void listen_to_daemon(struct keys *keys)
{
	struct td_link_message message;
	struct td_error err = {""};
	enum td_link_outcome got = TD_LINK_OK;

	while (!keys->over && (got = td_link_next(keys->cli->link, 0, &message, &err)) == TD_LINK_OK) {
		if (message.kind == TD_LINK_NEWS)
			take_news(keys, message.body);
		else
			take_answer(keys, &message);
		json_decref(message.body);
	}
	if (got == TD_LINK_BROKEN)
		lose(keys, &err);
}

/* --- the loop --------------------------------------------------------------------------------------------- */

/* Lets go and renews what is due; when something is due next. */
static td_ns tend(struct keys *keys, td_ns now_ns)
{
	if (now_ns >= keys->hello_ns)
		say_hello(keys, now_ns);
	td_ns due_ns = keys->hello_ns;

	for (size_t i = 0; i < keys->axes && !keys->over; i++) {
		struct keyed *axis = &keys->axis[i];

		if (td_grip_tick(&axis->grip, now_ns) == TD_GRIP_LET_GO)
			let_go(keys, axis);
		if (axis->grip.held && now_ns >= axis->renewal.due_ns)
			(void)ask(keys, axis, now_ns);
		due_ns = td_time_earlier(due_ns, td_grip_due(&axis->grip));
		if (axis->grip.held)
			due_ns = td_time_earlier(due_ns, axis->renewal.due_ns);
	}
	return due_ns;
}

static void drive(struct keys *keys)
{
	while (!keys->over) {
		listen_to_daemon(keys);
		take_keys(keys);
		take_signals(keys);
		td_ns now_ns = td_cli_now();
		td_ns due_ns = tend(keys, now_ns);

		if (!keys->over)
			(void)td_signals_wait(td_link_fd(keys->cli->link), keys->signals, STDIN_FILENO,
					      td_time_between(now_ns, due_ns));
	}
}

static enum td_exit begin(struct keys *keys)
{
	struct td_error err = {""};
	json_t *status = NULL;
	enum td_exit code = learn(keys);

	if (code == TD_EXIT_DONE)
		code = td_cli_call(keys->cli, "follow", NULL, &status);
	if (code == TD_EXIT_DONE) {
		keys->signals = td_signals_open(&err);
		if (keys->signals < 0) {
			td_cli_complain("%s", err.text);
			code = TD_EXIT_INTERNAL;
		}
	}
	if (code == TD_EXIT_DONE)
		code = td_turn_wait(keys->cli, keys->signals, status);
	json_decref(status);
	return code;
}

enum td_exit td_cmd_keys(struct td_cli *cli, int count, char **args)
{
	struct keys keys = {.cli = cli, .signals = -1};

	(void)count;
	(void)args;
	if (isatty(STDIN_FILENO) != 1) {
		td_cli_complain("standard input is no terminal, so there are no keys to hold down; "
				"tripdog hold works without one");
		return TD_EXIT_USAGE;
	}
	enum td_exit code = td_cli_open(cli);

	if (code == TD_EXIT_DONE)
		code = begin(&keys);
	if (code == TD_EXIT_DONE && !td_keyboard_open(&keys.keyboard)) {
		td_cli_complain("the terminal gives no single keys");
		code = TD_EXIT_INTERNAL;
	}
	if (code == TD_EXIT_DONE) {
		print_map(&keys);
		drive(&keys);
		code = keys.code;
		if (code != TD_EXIT_LOST)
			end_all(&keys);
	}
	td_keyboard_close(&keys.keyboard);
	if (keys.signals >= 0)
		(void)close(keys.signals);
	json_decref(keys.describe);
	return code;
}
