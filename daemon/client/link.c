/* SPDX-License-Identifier: MIT */
#include "daemon/client/link.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "daemon/client/time.h"
#include "wire/token.h"

struct td_link {
	int fd;
	bool broken;
	int64_t last_id;
	char token[TD_TOKEN_CHARS + 1];
	int64_t live[TD_LINK_CALLS_MAX]; /* ids of calls without an answer */
	size_t live_count;
	struct td_link_message aside[TD_LINK_WAITING_MAX]; /* in order of arrival */
	size_t aside_count;
	char bytes[TD_LINK_LINE_MAX]; /* received, not yet taken apart */
	size_t used;
	size_t scanned; /* no line end in front of this */
};

/* --- opening and closing ---------------------------------------------------------------------------- */

static const char *connect_advice(int code)
{
	switch (code) {
	case ENOENT: return "is the daemon running, and is this the path it listens on?";
	case ECONNREFUSED: return "the socket is there, but nobody listens: start the daemon";
	case EACCES:
	case EPERM: return "this user may not use it: ask the keeper, or use the visitors' socket";
	default: return "see the daemon's messages";
	}
}

static int open_socket(const struct sockaddr_un *address)
{
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	if (fd < 0)
		return -1;
	if (connect(fd, (const struct sockaddr *)address, sizeof(*address)) == 0 &&
	    fcntl(fd, F_SETFL, O_NONBLOCK) == 0)
		return fd;
	int saved = errno;
	(void)close(fd);
	errno = saved;
	return -1;
}

struct td_link *td_link_open(const char *path, struct td_error *err)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};

	if (path[0] == '\0' || strlen(path) >= sizeof(address.sun_path)) {
		errno = ENAMETOOLONG;
		(void)td_error_set(err, "cannot connect: a socket path has 1 to %zu bytes, this one has %zu",
				   sizeof(address.sun_path) - 1, strlen(path));
		return NULL;
	}
	memcpy(address.sun_path, path, strlen(path) + 1);
	int fd = open_socket(&address);
	if (fd < 0) {
		(void)td_error_set(err, "cannot connect to %s: %s; %s", path, strerror(errno),
				   connect_advice(errno));
		return NULL;
	}
	struct td_link *link = calloc(1, sizeof(*link));
	if (!link) {
		(void)close(fd);
		(void)td_error_set(err, "cannot connect to %s: out of memory", path);
		errno = ENOMEM;
		return NULL;
	}
	link->fd = fd;
	return link;
}

void td_link_close(struct td_link *link)
{
	if (!link)
		return;
	for (size_t i = 0; i < link->aside_count; i++)
		json_decref(link->aside[i].body);
	(void)close(link->fd);
	free(link);
}

int td_link_fd(const struct td_link *link)
{
	return link->fd;
}

/* --- calls that wait for an answer ------------------------------------------------------------------ */

/* True where the id was live; it no longer is. */
static bool forget_call(struct td_link *link, int64_t id)
{
	for (size_t i = 0; i < link->live_count; i++) {
		if (link->live[i] == id) {
			link->live[i] = link->live[--link->live_count];
			return true;
		}
	}
	return false;
}

static enum td_link_outcome broken(struct td_link *link)
{
	link->broken = true;
	return TD_LINK_BROKEN;
}

static enum td_link_outcome already_broken(struct td_error *err)
{
	(void)td_error_set(err, "the connection to the daemon was lost before; connect anew");
	return TD_LINK_BROKEN;
}

/* --- waiting ---------------------------------------------------------------------------------------- */

/* Polls until the descriptor is ready or the time is over. A signal does not lengthen the wait. */
static enum td_link_outcome wait_for(struct td_link *link, short events, td_ns until_ns, struct td_error *err)
{
	for (;;) {
		struct pollfd poll_fd = {.fd = link->fd, .events = events};
		td_ns left_ns = td_time_between(td_cli_now(), until_ns);
		struct timespec left = {.tv_sec = left_ns / TD_S(1), .tv_nsec = left_ns % TD_S(1)};
		int ready = ppoll(&poll_fd, 1, &left, NULL);

		if (ready > 0)
			return TD_LINK_OK;
		if (ready < 0 && errno != EINTR) {
			(void)td_error_set(err, "cannot wait for the daemon: %s", strerror(errno));
			return broken(link);
		}
		if (ready == 0) {
			(void)td_error_set(err, "the daemon did not answer in time; see whether it is alive "
						"and not overloaded");
			return TD_LINK_TIMEOUT;
		}
	}
}

/* --- receiving -------------------------------------------------------------------------------------- */

static enum td_link_outcome read_more(struct td_link *link, td_ns until_ns, struct td_error *err)
{
	if (link->used == sizeof(link->bytes)) {
		(void)td_error_set(err, "the daemon sent a line of more than %d bytes", TD_LINK_LINE_MAX);
		return broken(link);
	}
	enum td_link_outcome ready = wait_for(link, POLLIN, until_ns, err);
	if (ready != TD_LINK_OK)
		return ready;
	ssize_t got = recv(link->fd, link->bytes + link->used, sizeof(link->bytes) - link->used, 0);
	if (got > 0) {
		link->used += (size_t)got;
		return TD_LINK_OK;
	}
	if (got < 0 && (errno == EAGAIN || errno == EINTR))
		return TD_LINK_OK;
	if (got < 0)
		(void)td_error_set(err, "the connection to the daemon was lost: %s", strerror(errno));
	else
		(void)td_error_set(err, "the daemon closed the connection; see its messages");
	return broken(link);
}

/* One whole line out of the buffer as JSON. TIMEOUT: there is none yet. */
static enum td_link_outcome take_line(struct td_link *link, json_t **line, struct td_error *err)
{
	char *end = memchr(link->bytes + link->scanned, '\n', link->used - link->scanned);

	if (!end) {
		link->scanned = link->used;
		return TD_LINK_TIMEOUT;
	}
	size_t length = (size_t)(end - link->bytes);
	*line = json_loadb(link->bytes, length, JSON_REJECT_DUPLICATES, NULL);
	if (!*line) {
		(void)td_error_set(
			err, "what answers on this socket does not speak JSON: is it the daemon's socket?");
		return broken(link);
	}
	link->used -= length + 1;
	link->scanned = 0;
	memmove(link->bytes, end + 1, link->used);
	return TD_LINK_OK;
}

/* Sorts a message. The body is a new reference. False: it is none of the three kinds. */
static bool sort_message(json_t *line, struct td_link_message *message)
{
	json_t *id = json_object_get(line, "id");
	json_t *result = json_object_get(line, "result");
	json_t *error = json_object_get(line, "error");

	if (!id && json_is_string(json_object_get(line, "method")))
		*message = (struct td_link_message){.kind = TD_LINK_NEWS, .body = json_incref(line)};
	else if (result && !error && json_is_integer(id))
		*message =
			(struct td_link_message){TD_LINK_RESULT, json_integer_value(id), json_incref(result)};
	else if (error && !result && (json_is_integer(id) || json_is_null(id)))
		*message =
			(struct td_link_message){TD_LINK_ERROR, json_integer_value(id), json_incref(error)};
	else
		return false;
	return true;
}

const char *td_link_token(const struct td_link *link)
{
	return link->token;
}

/* A refusal has it among its data. */
static void keep_token(struct td_link *link, const struct td_link_message *message)
{
	const json_t *object =
		message->kind == TD_LINK_ERROR ? json_object_get(message->body, "data") : message->body;
	const char *token = json_string_value(json_object_get(object, "token"));

	if (token && strlen(token) == TD_TOKEN_CHARS)
		memcpy(link->token, token, sizeof(link->token));
}

/* What a message means for the link. TIMEOUT: it is of no use, go on. */
static enum td_link_outcome accept_message(struct td_link *link, struct td_link_message *message,
					   struct td_error *err)
{
	if (message->kind == TD_LINK_NEWS)
		return TD_LINK_OK;
	if (forget_call(link, message->id)) {
		keep_token(link, message);
		return TD_LINK_OK;
	}
	/* Ids start at 1: 0 is an error about a line the daemon could not even match to a call. */
	if (message->kind == TD_LINK_ERROR && message->id == 0) {
		(void)td_error_set(err, "the daemon could not read what was sent: %s",
				   td_refusal_read(message->body).sentence);
		json_decref(message->body);
		return broken(link);
	}
	json_decref(message->body);
	return TD_LINK_TIMEOUT;
}

/* One message out of what has been received. TIMEOUT: there is none yet. */
static enum td_link_outcome take_message(struct td_link *link, struct td_link_message *message,
					 struct td_error *err)
{
	for (;;) {
		json_t *line = NULL;
		enum td_link_outcome got = take_line(link, &line, err);

		if (got != TD_LINK_OK)
			return got;
		bool sorted = sort_message(line, message);
		json_decref(line);
		if (!sorted) {
			(void)td_error_set(err,
					   "the daemon sent a message that is neither an answer nor news");
			return broken(link);
		}
		got = accept_message(link, message, err);
		if (got != TD_LINK_TIMEOUT)
			return got;
	}
}

/* The next message from the socket, past what was set aside. */
static enum td_link_outcome receive(struct td_link *link, td_ns until_ns, struct td_link_message *message,
				    struct td_error *err)
{
	for (;;) {
		enum td_link_outcome got =
			link->broken ? already_broken(err) : take_message(link, message, err);
		if (got != TD_LINK_TIMEOUT)
			return got;
		got = read_more(link, until_ns, err);
		if (got != TD_LINK_OK)
			return got;
	}
}

static enum td_link_outcome set_aside(struct td_link *link, const struct td_link_message *message,
				      struct td_error *err)
{
	if (link->aside_count == TD_LINK_WAITING_MAX) {
		json_decref(message->body);
		(void)td_error_set(err, "%d messages wait and nobody takes them", TD_LINK_WAITING_MAX);
		return broken(link);
	}
	link->aside[link->aside_count++] = *message;
	return TD_LINK_OK;
}

/* Takes the first message that was set aside and is wanted. */
static bool take_aside(struct td_link *link, bool only_news, struct td_link_message *message)
{
	for (size_t i = 0; i < link->aside_count; i++) {
		if (only_news && link->aside[i].kind != TD_LINK_NEWS)
			continue;
		*message = link->aside[i];
		link->aside_count--;
		memmove(link->aside + i, link->aside + i + 1, (link->aside_count - i) * sizeof(*message));
		return true;
	}
	return false;
}

enum td_link_outcome td_link_next(struct td_link *link, td_ns timeout_ns, struct td_link_message *message,
				  struct td_error *err)
{
	if (take_aside(link, false, message))
		return TD_LINK_OK;
	return receive(link, td_time_after(td_cli_now(), timeout_ns), message, err);
}

enum td_link_outcome td_link_next_news(struct td_link *link, td_ns timeout_ns, json_t **news,
				       struct td_error *err)
{
	td_ns until_ns = td_time_after(td_cli_now(), timeout_ns);
	struct td_link_message message = {0};
	enum td_link_outcome got = TD_LINK_OK;

	*news = NULL;
	if (!take_aside(link, true, &message)) {
		do {
			if (message.body)
				got = set_aside(link, &message, err);
			if (got == TD_LINK_OK)
				got = receive(link, until_ns, &message, err);
		} while (got == TD_LINK_OK && message.kind != TD_LINK_NEWS);
	}
	if (got == TD_LINK_OK)
		*news = message.body;
	return got;
}

/* --- sending ---------------------------------------------------------------------------------------- */

static enum td_link_outcome send_all(struct td_link *link, const char *bytes, size_t length, td_ns until_ns,
				     struct td_error *err)
{
	for (size_t sent = 0; sent < length;) {
		ssize_t count = send(link->fd, bytes + sent, length - sent, MSG_NOSIGNAL);

		if (count >= 0) {
			sent += (size_t)count;
			continue;
		}
		if (errno != EAGAIN && errno != EINTR) {
			(void)td_error_set(err, "the connection to the daemon was lost: %s", strerror(errno));
			return broken(link);
		}
		enum td_link_outcome ready = wait_for(link, POLLOUT, until_ns, err);
		if (ready != TD_LINK_OK)
			return sent > 0 ? broken(link) : ready;
	}
	return TD_LINK_OK;
}

static char *call_line(int64_t id, const char *method, json_t *params)
{
	json_t *call = json_pack("{s:s, s:I, s:s, s:o*}", "jsonrpc", "2.0", "id", (json_int_t)id, "method",
				 method, "params", params);
	char *line = json_dumps(call, JSON_COMPACT);

	json_decref(call);
	return line;
}

enum td_link_outcome td_link_send(struct td_link *link, const char *method, json_t *params, td_ns timeout_ns,
				  int64_t *id, struct td_error *err)
{
	if (link->broken || link->live_count == TD_LINK_CALLS_MAX) {
		json_decref(params);
		if (link->broken)
			return already_broken(err);
		(void)td_error_set(err, "the daemon has not answered the last %d calls", TD_LINK_CALLS_MAX);
		return TD_LINK_TIMEOUT;
	}
	*id = ++link->last_id;
	char *line = call_line(*id, method, params);
	if (!line) {
		(void)td_error_set(err, "cannot write a call of %s as JSON", method);
		return broken(link);
	}
	size_t length = strlen(line);
	line[length] = '\n'; /* in place of the terminator */
	enum td_link_outcome sent =
		send_all(link, line, length + 1, td_time_after(td_cli_now(), timeout_ns), err);
	free(line);
	if (sent == TD_LINK_OK)
		link->live[link->live_count++] = *id;
	return sent;
}

enum td_link_outcome td_link_call(struct td_link *link, const char *method, json_t *params, td_ns timeout_ns,
				  json_t **answer, struct td_error *err)
{
	td_ns until_ns = td_time_after(td_cli_now(), timeout_ns);
	struct td_link_message message = {0};
	int64_t id = 0;

	if (answer)
		*answer = NULL;
	enum td_link_outcome got = td_link_send(link, method, params, timeout_ns, &id, err);
	while (got == TD_LINK_OK) {
		got = receive(link, until_ns, &message, err);
		if (got == TD_LINK_OK && message.id == id)
			break;
		if (got == TD_LINK_OK)
			got = set_aside(link, &message, err);
	}
	if (got != TD_LINK_OK) {
		(void)forget_call(link, id);
		return got;
	}
	if (message.kind == TD_LINK_ERROR) {
		(void)td_error_set(err, "%s", td_refusal_read(message.body).sentence);
		got = TD_LINK_REFUSED;
	}
	if (answer)
		*answer = message.body;
	else
		json_decref(message.body);
	return got;
}
