/* SPDX-License-Identifier: MIT */
#include "tests/support/flood.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { THROWERS = 16 };

/* Not one of them is a message that may be obeyed. */
static const char *const garbage[] = {
	"\n",
	"{\n",
	"[1,2,3]\n",
	"{\"jsonrpc\":\"2.0\"}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"request\",\"params\":{\"axis\":\"drive\"},\"id\":1}\n",
	"{\"jsonrpc\":\"1.0\",\"method\":\"stop\",\"id\":1}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"fly\",\"id\":7}\n",
	"\xff\xfe\xfd garbage\n",
	"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"reset\",\"id\":2}\n",
};

static int connect_once(const struct sockaddr_un *address)
{
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);

	if (fd >= 0 && connect(fd, (const struct sockaddr *)address, sizeof(*address)) != 0) {
		close(fd);
		return -1;
	}
	return fd;
}

static void swallow(int fd)
{
	char rest[4096];

	while (recv(fd, rest, sizeof(rest), MSG_DONTWAIT) > 0)
		;
}

/* One line at one thrower; true if it was taken. */
static int throw_one(int *fd, const struct sockaddr_un *address, const char *line,
		     struct flood_result *result)
{
	if (*fd < 0) {
		*fd = connect_once(address);
		result->connections += *fd >= 0;
	}
	if (*fd < 0)
		return 0;
	size_t length = strlen(line);

	swallow(*fd);
	if (send(*fd, line, length, MSG_NOSIGNAL | MSG_DONTWAIT) == (ssize_t)length)
		return 1;
	close(*fd);
	*fd = -1;
	return 0;
}

static struct flood_result throw_all(const struct sockaddr_un *address, unsigned int per_second, td_ns for_ns)
{
	struct flood_result result = {0, 0, 0};
	int fd[THROWERS];
	const struct timespec tick = {.tv_nsec = 1000000};
	td_ns begin_ns = td_clock_now();

	for (size_t i = 0; i < THROWERS; i++)
		fd[i] = -1;
	for (td_ns now_ns = begin_ns; now_ns - begin_ns < for_ns; now_ns = td_clock_now()) {
		unsigned long long owed =
			(unsigned long long)((double)(now_ns - begin_ns) / 1e9 * per_second);

		for (unsigned int tries = 0; result.messages < owed && tries < per_second / 50; tries++) {
			size_t n = result.messages + tries;

			result.messages += (unsigned int)throw_one(
				&fd[n % THROWERS], address,
				garbage[n % (sizeof(garbage) / sizeof(garbage[0]))], &result);
		}
		nanosleep(&tick, NULL);
	}
	result.seconds = (double)(td_clock_now() - begin_ns) / 1e9;
	return result;
}

struct flood flood_start(const char *path, unsigned int per_second, td_ns for_ns)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	struct flood flood;
	int fd[2];

	if (strlen(path) >= sizeof(address.sun_path) || pipe(fd) != 0)
		abort();
	memcpy(address.sun_path, path, strlen(path));
	fflush(NULL);
	flood.pid = fork();
	flood.result_fd = fd[0];
	if (flood.pid == 0) {
		struct flood_result result = throw_all(&address, per_second, for_ns);

		_exit(write(fd[1], &result, sizeof(result)) == (ssize_t)sizeof(result) ? 0 : 1);
	}
	close(fd[1]);
	return flood;
}

struct flood_result flood_end(struct flood *flood)
{
	struct flood_result result = {0, 0, 0};

	if (read(flood->result_fd, &result, sizeof(result)) != (ssize_t)sizeof(result))
		memset(&result, 0, sizeof(result));
	close(flood->result_fd);
	waitpid(flood->pid, NULL, 0);
	return result;
}
