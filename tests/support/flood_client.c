/* SPDX-License-Identifier: MIT */
#include "tests/support/flood_client.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { CALL_BYTES = 512, GREET_MS = 20000, ID_BYTES = 32 };

bool flood_client_connect(struct flood_client *client, const struct sockaddr_un *address)
{
	if (client->fd >= 0)
		return true;
	client->fd = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
	if (client->fd < 0)
		return false;
	if (connect(client->fd, (const struct sockaddr *)address, sizeof(*address)) != 0) {
		flood_client_leave(client);
		return false;
	}
	client->length = 0;
	client->calls = 0;
	client->token[0] = '\0';
	memset(client->sent_ns, 0, sizeof(client->sent_ns));
	return true;
}

void flood_client_leave(struct flood_client *client)
{
	if (client->fd >= 0)
		close(client->fd);
	client->fd = -1;
}

bool flood_client_send(struct flood_client *client, const char *bytes, size_t length)
{
	ssize_t sent = send(client->fd, bytes, length, MSG_NOSIGNAL | MSG_DONTWAIT);

	if (sent == (ssize_t)length)
		return true;
	if (sent >= 0 || errno != EAGAIN)
		flood_client_leave(client);
	return false;
}

/* The number of the call stands last, where it is found in an answer, too. */
bool flood_client_call(struct flood_client *client, const char *method, const char *params)
{
	char line[CALL_BYTES];
	uint32_t id = client->calls + 1;
	int length = snprintf(line, sizeof(line), "{\"jsonrpc\":\"2.0\",\"method\":\"%s\"%s%s,\"id\":%u}\n",
			      method, params[0] ? ",\"params\":" : "", params, id);

	client->sent_ns[id % FLOOD_CALLS_LIVE] = td_clock_now();
	if (!flood_client_send(client, line, (size_t)length))
		return false;
	client->calls = id;
	return true;
}

/* Which call the line that ends here answers; 0: none of them. */
static uint32_t answered(const char *line, const char *end)
{
	static const char key[] = "\"id\":";
	char tail[ID_BYTES + 1];
	size_t length = (size_t)(end - line);
	size_t take = length < ID_BYTES ? length : ID_BYTES;

	memcpy(tail, end - take, take);
	tail[take] = '\0';
	const char *found = strstr(tail, key);

	return found ? (uint32_t)strtoul(found + sizeof(key) - 1, NULL, 10) : 0;
}

/* A token lets the next request through; the newest one counts. */
static void take_token(struct flood_client *client, const char *line, const char *end)
{
	static const char key[] = "\"token\":\"";
	const char *from = memmem(line, (size_t)(end - line), key, sizeof(key) - 1);

	if (!from)
		return;
	from += sizeof(key) - 1;
	const char *to = memchr(from, '"', (size_t)(end - from));
	size_t length = to ? (size_t)(to - from) : 0;

	if (length == 0 || length >= sizeof(client->token))
		return;
	memcpy(client->token, from, length);
	client->token[length] = '\0';
}

static void take_line(struct flood_client *client, const char *line, const char *end,
		      struct flood_heard *heard)
{
	uint32_t id = answered(line, end);
	td_ns *sent_ns = &client->sent_ns[id % FLOOD_CALLS_LIVE];

	heard->lines++;
	take_token(client, line, end);
	if (id == 0 || id > client->calls || *sent_ns == 0 || heard->answers == FLOOD_CALLS_LIVE)
		return;
	heard->answer_ms[heard->answers++] = (double)(td_clock_now() - *sent_ns) / 1e6;
	*sent_ns = 0;
}

static void take_lines(struct flood_client *client, struct flood_heard *heard)
{
	char *from = client->bytes;
	char *to = client->bytes + client->length;

	for (char *end = memchr(from, '\n', (size_t)(to - from)); end;
	     end = memchr(from, '\n', (size_t)(to - from))) {
		take_line(client, from, end, heard);
		from = end + 1;
	}
	client->length = (size_t)(to - from);
	/* Of a line that is longer than all room only the end matters. */
	if (client->length == sizeof(client->bytes)) {
		from = to - ID_BYTES;
		client->length = ID_BYTES;
	}
	memmove(client->bytes, from, client->length);
}

void flood_client_hear(struct flood_client *client, struct flood_heard *heard)
{
	ssize_t got = recv(client->fd, client->bytes + client->length, sizeof(client->bytes) - client->length,
			   MSG_DONTWAIT);

	if (got > 0) {
		client->length += (size_t)got;
		take_lines(client, heard);
	} else if (got == 0 || (errno != EAGAIN && errno != EINTR)) {
		flood_client_leave(client);
	}
}

static bool call_and_wait(struct flood_client *client, const char *method, const char *params)
{
	double ms[FLOOD_CALLS_LIVE];
	struct flood_heard heard = {.answer_ms = ms};
	struct pollfd poll_fd = {.fd = client->fd, .events = POLLIN};

	if (!flood_client_call(client, method, params))
		return false;
	while (heard.answers == 0 && client->fd >= 0 && poll(&poll_fd, 1, GREET_MS) > 0)
		flood_client_hear(client, &heard);
	return heard.answers > 0;
}

bool flood_client_greet(struct flood_client *client, const char *method)
{
	return call_and_wait(client, "hello", "{\"protocol\":1}") && call_and_wait(client, method, "");
}
