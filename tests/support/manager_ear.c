/* SPDX-License-Identifier: MIT */
#include "tests/support/manager_ear.h"

#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/clock.h"

static int ear = -1;
static char path[64];

void ear_open(bool abstract)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	size_t length;

	ear_forget();
	(void)snprintf(path, sizeof(path), "%s/tmp/tripdog-ear-%d", abstract ? "@" : "", (int)getpid());
	length = strlen(path);
	memcpy(address.sun_path, path, length + 1);
	if (abstract)
		address.sun_path[0] = '\0';
	else
		(void)unlink(path);
	ear = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	assert_true(ear >= 0);
	assert_int_equal(bind(ear, (const struct sockaddr *)&address,
			      (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length)),
			 0);
	setenv("NOTIFY_SOCKET", path, 1);
}

const char *ear_hear(void)
{
	static char heard[4096];
	ssize_t length = recv(ear, heard, sizeof(heard) - 1, MSG_DONTWAIT);

	if (length < 0)
		return NULL;
	heard[length] = '\0';
	return heard;
}

const char *ear_wait(td_ns span_ns)
{
	struct pollfd ready = {.fd = ear, .events = POLLIN};
	struct timespec span = td_clock_span(span_ns);

	return ppoll(&ready, 1, &span, NULL) > 0 ? ear_hear() : NULL;
}

static bool has_line(const char *message, const char *line)
{
	size_t length = strlen(line);

	for (const char *at = message; at; at = strchr(at, '\n')) {
		at += *at == '\n';
		if (strncmp(at, line, length) == 0 && (at[length] == '\n' || at[length] == '\0'))
			return true;
	}
	return false;
}

int ear_wait_for(const char *line, const char *counted, td_ns span_ns)
{
	td_ns until_ns = td_clock_now() + span_ns;
	const char *heard;
	int count = 0;

	while ((heard = ear_wait(td_time_between(td_clock_now(), until_ns)))) {
		if (counted && strstr(heard, counted))
			count++;
		if (has_line(heard, line))
			return count;
	}
	return -1;
}

void ear_forget(void)
{
	if (ear >= 0)
		close(ear);
	ear = -1;
	if (path[0] == '/')
		(void)unlink(path);
	path[0] = '\0';
	unsetenv("NOTIFY_SOCKET");
	unsetenv("WATCHDOG_USEC");
	unsetenv("WATCHDOG_PID");
}
