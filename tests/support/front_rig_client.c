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

#include "tests/support/front_rig.h"

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

void rig_send(const struct rig_client *client, const char *line)
{
	size_t length = strlen(line);
	char *text = malloc(length + 2);

	assert_non_null(text);
	(void)snprintf(text, length + 2, "%s\n", line);
	assert_int_equal(send(client->fd, text, length + 1, MSG_NOSIGNAL), length + 1);
	free(text);
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

json_t *rig_receive(struct rig_client *client)
{
	char *end = NULL;

	while (client->used == 0 || !(end = memchr(client->bytes, '\n', client->used))) {
		if (read_more(client) == 0)
			fail_msg("the front closed the connection");
	}
	size_t length = (size_t)(end - client->bytes);
	json_t *line = json_loadb(client->bytes, length, JSON_REJECT_DUPLICATES, NULL);

	assert_non_null(line);
	client->used -= length + 1;
	memmove(client->bytes, end + 1, client->used);
	return line;
}

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
