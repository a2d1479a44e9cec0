/* SPDX-License-Identifier: MIT */
#include "tests/support/slow_road.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { PIECES = 1024, PIECE_BYTES = 2048 };

struct slow_road_switch {
	atomic_bool stalled;
};

struct piece {
	td_ns due_ns;
	size_t length;
	char bytes[PIECE_BYTES];
};

/* One way: a ring of what is under way. */
struct lane {
	int from;
	int to;
	unsigned int first;
	unsigned int count;
	struct piece piece[PIECES];
};

static struct lane up;
static struct lane down;

static int connect_to(const char *path)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", path);
	if (connect(fd, (const struct sockaddr *)&address, sizeof(address)) != 0)
		_exit(1);
	return fd;
}

/* False at the end of the connection. */
static bool take(struct lane *lane, td_ns way_ns)
{
	struct piece *piece = &lane->piece[(lane->first + lane->count) % PIECES];
	struct pollfd ready = {.fd = lane->from, .events = POLLIN};

	if (lane->count == PIECES || poll(&ready, 1, 0) <= 0)
		return true;
	ssize_t got = recv(lane->from, piece->bytes, sizeof(piece->bytes), 0);
	if (got <= 0)
		return false;
	piece->length = (size_t)got;
	piece->due_ns = td_clock_now() + way_ns;
	lane->count++;
	return true;
}

static bool deliver(struct lane *lane)
{
	for (; lane->count > 0; lane->count--, lane->first = (lane->first + 1) % PIECES) {
		const struct piece *piece = &lane->piece[lane->first];

		if (piece->due_ns > td_clock_now())
			break;
		if (send(lane->to, piece->bytes, piece->length, MSG_NOSIGNAL) != (ssize_t)piece->length)
			return false;
	}
	return true;
}

static void serve(const struct slow_road *road, int client, int daemon, td_ns way_ns)
{
	bool open = true;

	up = (struct lane){.from = client, .to = daemon};
	down = (struct lane){.from = daemon, .to = client};
	while (open || (up.count > 0 && !road->at->stalled)) {
		struct pollfd ready[2] = {{.fd = client, .events = POLLIN}, {.fd = daemon, .events = POLLIN}};

		(void)poll(ready, open ? 2 : 0, 1);
		open = open && take(&up, way_ns) && take(&down, way_ns);
		if (!road->at->stalled && (!deliver(&up) || !deliver(&down)))
			break;
	}
	close(client);
	close(daemon);
}

static void run(const struct slow_road *road, int listener, const char *to, td_ns way_ns)
{
	for (;;) {
		int client = accept(listener, NULL, NULL);

		if (client < 0)
			_exit(1);
		serve(road, client, connect_to(to), way_ns);
	}
}

void slow_road_open(struct slow_road *road, const char *path, const char *to, td_ns way_ns)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	char *target = strdup(to);

	(void)snprintf(road->path, sizeof(road->path), "%s", path);
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", path);
	road->at = mmap(NULL, sizeof(*road->at), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	assert_true(road->at != MAP_FAILED && target && listener >= 0);
	assert_int_equal(bind(listener, (const struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(listener, 4), 0);
	road->pid = fork();
	assert_true(road->pid >= 0);
	if (road->pid == 0)
		run(road, listener, target, way_ns);
	close(listener);
	free(target);
}

void slow_road_stall(struct slow_road *road, bool stall)
{
	road->at->stalled = stall;
}

void slow_road_close(struct slow_road *road)
{
	(void)kill(road->pid, SIGKILL);
	(void)waitpid(road->pid, NULL, 0);
	(void)unlink(road->path);
	assert_int_equal(munmap(road->at, sizeof(*road->at)), 0);
}
