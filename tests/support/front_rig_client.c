/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "tests/support/front_rig.h"
#include "wire/limits.h"

enum { SLACK_MS = 5000 };

struct rig_client *rig_connect(const struct rig *rig, enum td_role role)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	struct rig_client *client = calloc(1, sizeof(*client));

	assert_non_null(client);
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s",
		       role == TD_ROLE_KEEPER ? rig->config.keeper.path : rig->config.visitor.path);
	client->fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	assert_int_equal(connect(client->fd, (const struct sockaddr *)&address, sizeof(address)), 0);
	return client;
}

void rig_close(struct rig_client *client)
{
	close(client->fd);
	free(client);
}

/* 0 at the end of the connection. */
static size_t read_more(struct rig_client *client)
{
	struct pollfd ready = {.fd = client->fd, .events = POLLIN};

	if (poll(&ready, 1, SLACK_MS) != 1)
		fail_msg("the front does not answer");
	assert_true(client->used < sizeof(client->bytes));
	ssize_t got = recv(client->fd, client->bytes + client->used, sizeof(client->bytes) - client->used, 0);
	if (got <= 0)
		return 0;
	client->used += (size_t)got;
	return (size_t)got;
}

/* Takes the line at `at` out of what was received; the caller's. */
static json_t *take_line(struct rig_client *client, size_t at, size_t length)
{
	json_t *line = json_loadb(client->bytes + at, length, JSON_REJECT_DUPLICATES, NULL);

	assert_non_null(line);
	client->used -= length + 1;
	memmove(client->bytes + at, client->bytes + at + length + 1, client->used - at);
	return line;
}

/* The next line from `*at` on; `*at` stays where it is. */
static size_t line_length(struct rig_client *client, size_t at)
{
	char *end = NULL;

	while (client->used == at || !(end = memchr(client->bytes + at, '\n', client->used - at))) {
		if (read_more(client) == 0)
			fail_msg("the front closed the connection");
	}
	return (size_t)(end - client->bytes) - at;
}

json_t *rig_receive(struct rig_client *client)
{
	return take_line(client, 0, line_length(client, 0));
}

/* --- tokens -------------------------------------------------------------------------------------------- */

enum { HELLO_ID = 888888 };

static void send_text(const struct rig_client *client, const char *text, size_t length)
{
	assert_int_equal(send(client->fd, text, length, MSG_NOSIGNAL), length);
}

const char *rig_token(struct rig_client *client)
{
	static const char hello[] = "{\"jsonrpc\":\"2.0\",\"id\":888888,\"method\":\"hello\","
				    "\"params\":{\"protocol\":1}}\n";
	json_t *answer = NULL;
	size_t at = 0;

	if (client->token_ns != 0 && td_clock_now() - client->token_ns < TD_TOKEN_AGE_MAX_NS / 3)
		return client->token;
	client->token_ns = td_clock_now();
	send_text(client, hello, sizeof(hello) - 1);
	for (size_t length = line_length(client, at); !answer;
	     length = answer ? 0 : line_length(client, at)) {
		json_t *line = json_loadb(client->bytes + at, length, 0, NULL);

		if (rig_id(line) == HELLO_ID)
			answer = take_line(client, at, length);
		else
			at += length + 1;
		json_decref(line);
	}
	(void)snprintf(client->token, sizeof(client->token), "%s",
		       json_string_value(json_object_get(json_object_get(answer, "result"), "token")));
	json_decref(answer);
	return client->token;
}

/* "@" and what it becomes are strings of JSON. */
void rig_send(struct rig_client *client, const char *line)
{
	static const char place[] = "\"@\"";
	size_t size = strlen(line) + 2;
	char *text = NULL;
	size_t length = 0;

	for (const char *at = line; (at = strstr(at, place)); at += sizeof(place) - 1)
		size += TD_TOKEN_CHARS;
	text = malloc(size);
	assert_non_null(text);
	for (const char *at = strstr(line, place); at;
	     line = at + sizeof(place) - 1, at = strstr(line, place))
		length += (size_t)snprintf(text + length, size - length, "%.*s\"%s\"", (int)(at - line), line,
					   rig_token(client));
	length += (size_t)snprintf(text + length, size - length, "%s\n", line);
	send_text(client, text, length);
	free(text);
}

/* --- calls --------------------------------------------------------------------------------------------- */

bool rig_closed(struct rig_client *client)
{
	do
		client->used = 0;
	while (read_more(client) > 0);
	return true;
}

json_t *rig_call(struct rig_client *client, const char *method, const char *params, int id)
{
	char line[512];

	(void)snprintf(line, sizeof(line), "{\"jsonrpc\":\"2.0\",\"method\":\"%s\"%s%s,\"id\":%d}", method,
		       params[0] ? ",\"params\":" : "", params, id);
	rig_send(client, line);
	for (;;) {
		json_t *answer = rig_receive(client);

		if (rig_id(answer) == id)
			return answer;
		json_decref(answer);
	}
}

void rig_sync(struct rig_client *client)
{
	json_decref(rig_call(client, "describe", "", 999999));
}

const char *rig_outcome(const json_t *answer)
{
	const json_t *error = json_object_get(answer, "error");
	const char *result = json_string_value(json_object_get(json_object_get(answer, "result"), "result"));
	const char *cause = json_string_value(json_object_get(json_object_get(error, "data"), "cause"));
	const char *message = json_string_value(json_object_get(error, "message"));

	if (result)
		return result;
	if (cause)
		return cause;
	return message ? message : "";
}

int rig_id(const json_t *answer)
{
	return (int)json_integer_value(json_object_get(answer, "id"));
}

int rig_code(const json_t *answer)
{
	return (int)json_integer_value(json_object_get(json_object_get(answer, "error"), "code"));
}

const char *rig_sentence(const json_t *answer)
{
	const json_t *data = json_object_get(json_object_get(answer, "error"), "data");
	const char *sentence = json_string_value(json_object_get(data, "sentence"));

	return sentence ? sentence : "";
}
