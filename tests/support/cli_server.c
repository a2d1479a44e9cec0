/* SPDX-License-Identifier: MIT */
#include "tests/support/cli_server.h"

#include <poll.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

enum { PATIENCE_MS = 20000, LINE_MAX_BYTES = 8192 };

struct fake_server {
	char dir[64];
	struct sockaddr_un address;
	const char *const *script;
	int listener;
	int fd;
	pthread_t thread;
	json_t *calls;
	json_int_t first_id;
	json_int_t last_id;
	char line[LINE_MAX_BYTES];
	size_t used;
	char fault[256]; /* "" = none */
};

static void send_text(struct fake_server *server, const char *text, size_t length)
{
	/* A client that is gone is what some scripts are about. */
	for (size_t sent = 0; sent < length;) {
		ssize_t count = send(server->fd, text + sent, length - sent, MSG_NOSIGNAL);

		if (count <= 0)
			return;
		sent += (size_t)count;
	}
}

/* The next line, without its end; false at the end of the connection or of patience. */
static bool read_line(struct fake_server *server, char *line, size_t size)
{
	for (;;) {
		char *end = memchr(server->line, '\n', server->used);
		struct pollfd fd = {.fd = server->fd, .events = POLLIN};

		if (end) {
			size_t length = (size_t)(end - server->line);

			(void)snprintf(line, size, "%.*s", (int)length, server->line);
			server->used -= length + 1;
			memmove(server->line, end + 1, server->used);
			return true;
		}
		if (server->used == sizeof(server->line) || poll(&fd, 1, PATIENCE_MS) <= 0)
			return false;
		ssize_t got =
			recv(server->fd, server->line + server->used, sizeof(server->line) - server->used, 0);
		if (got <= 0)
			return false;
		server->used += (size_t)got;
	}
}

/* Reads a call and notes it; NULL at the end. Borrowed. */
static const char *read_call(struct fake_server *server)
{
	char line[LINE_MAX_BYTES];

	if (!read_line(server, line, sizeof(line)))
		return NULL;
	json_t *call = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
	if (!call) {
		(void)snprintf(server->fault, sizeof(server->fault), "the client sent no JSON: %.180s", line);
		return NULL;
	}
	(void)json_array_append_new(server->calls, call);
	server->last_id = json_integer_value(json_object_get(call, "id"));
	if (server->first_id == 0)
		server->first_id = server->last_id;
	return json_string_value(json_object_get(call, "method"));
}

static void answer(struct fake_server *server, const char *kind, const char *body)
{
	char head[96];

	(void)snprintf(head, sizeof(head),
		       "{\"jsonrpc\":\"2.0\",\"id\":%" JSON_INTEGER_FORMAT ",\"%s\":", server->last_id, kind);
	send_text(server, head, strlen(head));
	send_text(server, body, strlen(body));
	send_text(server, "}\n", 2);
}

static bool expect_call(struct fake_server *server, const char *method)
{
	const char *got = read_call(server);

	while (got && strcmp(got, "hello") == 0 && strcmp(method, "hello") != 0) {
		answer(server, "result", FAKE_HELLO);
		got = read_call(server);
	}
	if (got && strcmp(got, method) == 0)
		return true;
	if (server->fault[0] == '\0')
		(void)snprintf(server->fault, sizeof(server->fault), "expected a call of %s, got %s", method,
			       got ? got : "nothing");
	return false;
}

static void send_with_ids(struct fake_server *server, const char *text)
{
	for (; *text; text++) {
		if (*text == '@' || *text == '%') {
			char id[32];

			(void)snprintf(id, sizeof(id), "%" JSON_INTEGER_FORMAT,
				       *text == '@' ? server->last_id : server->first_id);
			send_text(server, id, strlen(id));
		} else {
			send_text(server, text, 1);
		}
	}
	send_text(server, "\n", 1);
}

static void answer_all(struct fake_server *server)
{
	while (read_call(server))
		answer(server, "result", "{\"result\":\"renewed\",\"token\":\"" FAKE_TOKEN "\"}");
}

static bool accept_one(struct fake_server *server)
{
	struct pollfd fd = {.fd = server->listener, .events = POLLIN};

	server->used = 0;
	server->fd = poll(&fd, 1, PATIENCE_MS) == 1 ? accept(server->listener, NULL, NULL) : -1;
	return server->fd >= 0;
}

/* False: the script is over. */
static bool take_step(struct fake_server *server, const char *step)
{
	switch (step[0]) {
	case '>': return expect_call(server, step + 1);
	case '=': answer(server, "result", step + 1); return true;
	case '!': answer(server, "error", step + 1); return true;
	case '<': send_with_ids(server, step + 1); return true;
	case '-': send_text(server, step + 1, strlen(step + 1)); return true;
	case '?': answer_all(server); return true;
	case '~': (void)usleep((useconds_t)(strtol(step + 1, NULL, 10) * 1000)); return true;
	case '&': (void)close(server->fd); return accept_one(server);
	case '.': return false;
	default:
		(void)snprintf(server->fault, sizeof(server->fault), "no such step: %.200s", step);
		return false;
	}
}

static void *play(void *context)
{
	struct fake_server *server = context;

	if (!accept_one(server))
		return NULL;
	const char *const *step = server->script;
	while (*step && take_step(server, *step))
		step++;
	/* Only a script that has run out waits for the client to go first. */
	while (!*step && server->fault[0] == '\0' && read_call(server) != NULL)
		;
	if (server->fd >= 0)
		(void)close(server->fd);
	return NULL;
}

struct fake_server *fake_start(const char *const *script)
{
	struct fake_server *server = calloc(1, sizeof(*server));

	assert_non_null(server);
	(void)snprintf(server->dir, sizeof(server->dir), "/tmp/tripdog-test-XXXXXX");
	assert_non_null(mkdtemp(server->dir));
	server->address.sun_family = AF_UNIX;
	(void)snprintf(server->address.sun_path, sizeof(server->address.sun_path), "%s/sock", server->dir);
	server->script = script;
	server->calls = json_array();
	server->listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	assert_int_equal(bind(server->listener, (struct sockaddr *)&server->address, sizeof(server->address)),
			 0);
	assert_int_equal(listen(server->listener, 4), 0);
	assert_int_equal(pthread_create(&server->thread, NULL, play, server), 0);
	return server;
}

const char *fake_path(const struct fake_server *server)
{
	return server->address.sun_path;
}

json_t *fake_end(struct fake_server *server)
{
	char fault[sizeof(server->fault)];

	(void)pthread_join(server->thread, NULL);
	(void)close(server->listener);
	(void)unlink(server->address.sun_path);
	(void)rmdir(server->dir);
	memcpy(fault, server->fault, sizeof(fault));
	json_t *calls = server->calls;
	free(server);
	assert_string_equal(fault, "");
	return calls;
}

void fake_finish(struct fake_server *server)
{
	json_decref(fake_end(server));
}

static const json_t *nth_call(const json_t *calls, const char *method, size_t index)
{
	size_t i = 0;
	const json_t *call = NULL;

	json_array_foreach(calls, i, call)
	{
		const char *name = json_string_value(json_object_get(call, "method"));

		if (name && strcmp(name, method) == 0 && index-- == 0)
			return call;
	}
	return NULL;
}

size_t fake_count(const json_t *calls, const char *method)
{
	size_t count = 0;

	while (nth_call(calls, method, count))
		count++;
	return count;
}

json_int_t fake_number(const json_t *calls, const char *method, size_t index, const char *param)
{
	const json_t *number =
		json_object_get(json_object_get(nth_call(calls, method, index), "params"), param);

	return json_is_integer(number) ? json_integer_value(number) : -1;
}
