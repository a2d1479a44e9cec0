/* SPDX-License-Identifier: MIT */
#include "sim/poke.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

enum { ANSWER_MAX = 64 * 1024, WAIT_S = 2 };

static int connect_to(const char *control, struct td_error *err)
{
	const struct timeval patience = {.tv_sec = WAIT_S};
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	if (strlen(control) >= sizeof(address.sun_path))
		errno = ENAMETOOLONG;
	else if (fd >= 0) {
		memcpy(address.sun_path, control, strlen(control) + 1);
		(void)setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof(patience));
		(void)setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof(patience));
		if (connect(fd, (const struct sockaddr *)&address, sizeof(address)) == 0)
			return fd;
	}
	(void)td_error_set(err, "%s: no board answers there: %s; start one (tripdog-sim board --control)",
			   control, strerror(errno));
	if (fd >= 0)
		(void)close(fd);
	return -1;
}

static int say(int fd, const char *command)
{
	const size_t length = strlen(command);

	return send(fd, command, length, MSG_NOSIGNAL | MSG_MORE) == (ssize_t)length &&
			       send(fd, "\n", 1, MSG_NOSIGNAL) == 1
		       ? 0
		       : -1;
}

/* Reads up to the end of the line; -1 if there is none. */
static ssize_t hear(int fd, char *answer)
{
	size_t length = 0;

	while (length < ANSWER_MAX) {
		ssize_t got = recv(fd, answer + length, ANSWER_MAX - length, 0);

		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			return -1;
		length += (size_t)got;
		if (answer[length - 1] == '\n')
			return (ssize_t)length;
	}
	return -1;
}

static json_t *judge(const char *control, json_t *answer, struct td_error *err)
{
	if (json_is_true(json_object_get(answer, "ok")))
		return answer;
	const char *sentence = json_string_value(json_object_get(answer, "error"));
	(void)td_error_set(err, "%s: %s", control,
			   sentence ? sentence : "gave an answer that makes no sense");
	json_decref(answer);
	return NULL;
}

json_t *td_poke(const char *control, const char *command, struct td_error *err)
{
	static char text[ANSWER_MAX];
	ssize_t length;
	int fd;

	if (strchr(command, '\n')) {
		(void)td_error_set(err, "a command is one line");
		return NULL;
	}
	fd = connect_to(control, err);
	if (fd < 0)
		return NULL;
	length = say(fd, command) < 0 ? -1 : hear(fd, text);
	(void)close(fd);
	if (length < 0) {
		(void)td_error_set(err, "%s: the board gave no answer; is it still running?", control);
		return NULL;
	}
	return judge(control, json_loadb(text, (size_t)length, 0, NULL), err);
}
