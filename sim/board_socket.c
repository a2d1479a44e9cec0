/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "sim/board_parts.h"

enum { BACKLOG = 16 };

/* Whether somebody listens at the address. */
static bool taken(const struct sockaddr_un *address, int type)
{
	int fd = socket(AF_UNIX, type | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	bool free_to_use = fd >= 0 && connect(fd, (const struct sockaddr *)address, sizeof(*address)) < 0 &&
			   (errno == ECONNREFUSED || errno == ENOENT);

	if (fd >= 0)
		(void)close(fd);
	return !free_to_use;
}

static int fail(int fd, const char *path, struct td_error *err)
{
	(void)td_error_set(err, "%s: cannot listen: %s; choose a path in a directory you may write to", path,
			   strerror(errno));
	if (fd >= 0)
		(void)close(fd);
	return -1;
}

int td_board_listen(const char *path, int type, struct td_error *err)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	struct stat status;
	int fd;

	if (strlen(path) >= sizeof(address.sun_path))
		return td_error_set(err, "%s: the path is too long for a socket; choose one below %zu bytes",
				    path, sizeof(address.sun_path));
	memcpy(address.sun_path, path, strlen(path) + 1);
	if (lstat(path, &status) == 0) {
		if (!S_ISSOCK(status.st_mode) || taken(&address, type))
			return td_error_set(err, "%s: is taken; stop what uses it or choose another path",
					    path);
		(void)unlink(path); /* left over from a board that was killed */
	}
	fd = socket(AF_UNIX, type | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (fd < 0 || bind(fd, (const struct sockaddr *)&address, sizeof(address)) < 0)
		return fail(fd, path, err);
	if (listen(fd, BACKLOG) < 0) {
		(void)unlink(path);
		return fail(fd, path, err);
	}
	return fd;
}

int td_board_accept(int listen_fd)
{
	return accept4(listen_fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
}

void td_board_drop(int *fd)
{
	if (*fd >= 0)
		(void)close(*fd);
	*fd = -1;
}
