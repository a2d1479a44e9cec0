/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include "daemon/front/front.h"

enum { BACKLOG = 64, LOCK_TRIES = 50, LOCK_PAUSE_MS = 20 };

/* A daemon that is just ending has a moment to let go. */
static bool lock_in_time(int fd)
{
	const struct timespec pause = {.tv_nsec = LOCK_PAUSE_MS * 1000000L};

	for (int i = 0; i < LOCK_TRIES; i++) {
		if (flock(fd, LOCK_EX | LOCK_NB) == 0)
			return true;
		if (errno != EWOULDBLOCK && errno != EINTR)
			return false;
		nanosleep(&pause, NULL);
	}
	errno = EWOULDBLOCK;
	return false;
}

/* The lock file stays for ever: removing it would let two daemons hold locks on two files of one name. */
static int take_lock(const char *path, struct td_error *err)
{
	char lock_path[TD_PATH_MAX + 8];

	(void)snprintf(lock_path, sizeof(lock_path), "%s.lock", path);
	int fd = open(lock_path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
	if (fd < 0)
		return td_error_set(err,
				    "%s: %s; its directory must exist and the daemon's user must be able to "
				    "write there",
				    lock_path, strerror(errno));
	if (lock_in_time(fd))
		return fd;
	td_error_set(err,
		     errno == EWOULDBLOCK ? "%s: another daemon holds this socket; stop it, or give this one "
					    "another path"
					  : "%s: the lock cannot be taken",
		     lock_path);
	close(fd);
	return -1;
}

static int new_socket(struct td_error *err)
{
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);

	if (fd < 0)
		return td_error_set(err, "no socket can be made: %s", strerror(errno));
	return fd;
}

/* Only a refused connection proves that nobody is there. */
static bool nobody_answers(const struct sockaddr_un *address)
{
	struct td_error ignored;
	int fd = new_socket(&ignored);

	if (fd < 0)
		return false;
	bool refused =
		connect(fd, (const struct sockaddr *)address, sizeof(*address)) != 0 && errno == ECONNREFUSED;
	close(fd);
	return refused;
}

static int clear_way(const struct sockaddr_un *address, struct td_error *err)
{
	const char *path = address->sun_path;
	struct stat what;

	if (lstat(path, &what) != 0)
		return errno == ENOENT ? 0 : td_error_set(err, "%s: %s", path, strerror(errno));
	if (!S_ISSOCK(what.st_mode))
		return td_error_set(err, "%s: something that is no socket is in the way; move it elsewhere",
				    path);
	if (!nobody_answers(address))
		return td_error_set(
			err,
			"%s: somebody answers on this socket; stop that program, or choose another "
			"path",
			path);
	if (unlink(path) != 0)
		return td_error_set(err, "%s: the socket of a former run cannot be removed: %s", path,
				    strerror(errno));
	return 0;
}

/* The mask makes the mode right in bind() itself: there is no instant at which others could connect. */
static int bind_with_mode(int fd, const struct sockaddr_un *address, uint32_t mode)
{
	mode_t before = umask((mode_t)(0777 & ~mode));
	int result = bind(fd, (const struct sockaddr *)address, sizeof(*address));

	umask(before);
	return result;
}

int td_front_check_group(const struct td_config_socket *where, struct td_error *err)
{
	if (!where->group[0] || getgrnam(where->group))
		return 0;
	return td_error_set(err, "there is no group \"%s\" on this system; make it, or name another",
			    where->group);
}

/* Nobody but the owner can connect before the group is the right one. */
static int bind_for_group(int fd, const struct sockaddr_un *address, const struct td_config_socket *where)
{
	const struct group *group = getgrnam(where->group);

	if (!group) {
		errno = ENOENT;
		return -1;
	}
	gid_t gid = group->gr_gid;
	int result = bind_with_mode(fd, address, where->mode & S_IRWXU);

	if (result == 0)
		result = lchown(address->sun_path, (uid_t)-1, gid);
	return result == 0 ? chmod(address->sun_path, (mode_t)where->mode) : result;
}

static int bind_as_wanted(int fd, const struct sockaddr_un *address, const struct td_config_socket *where,
			  struct td_error *err)
{
	int result = where->group[0] ? bind_for_group(fd, address, where)
				     : bind_with_mode(fd, address, where->mode);

	if (result == 0)
		return 0;
	return td_error_set(
		err,
		"%s: %s; its directory must exist, and the daemon's user must be able to write there%s%s",
		where->path, strerror(errno), where->group[0] ? " and be in the group " : "", where->group);
}

static int listen_at(const struct td_config_socket *where, struct td_error *err)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};

	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", where->path);
	if (clear_way(&address, err) != 0)
		return -1;
	int fd = new_socket(err);
	if (fd < 0)
		return -1;
	if (bind_as_wanted(fd, &address, where, err) == 0) {
		if (listen(fd, BACKLOG) == 0)
			return fd;
		td_error_set(err, "%s: %s", where->path, strerror(errno));
	}
	close(fd);
	return -1;
}

int td_front_listen(const struct td_config *config, struct td_front_start *start, struct td_error *err)
{
	const struct td_config_socket *where[2] = {
		[TD_ROLE_VISITOR] = &config->visitor,
		[TD_ROLE_KEEPER] = &config->keeper,
	};

	for (int role = 0; role < 2; role++)
		start->listener[role] = start->lock[role] = -1;
	for (int role = 0; role < 2; role++) {
		start->lock[role] = take_lock(where[role]->path, err);
		if (start->lock[role] >= 0)
			start->listener[role] = listen_at(where[role], err);
		if (start->listener[role] < 0) {
			td_front_leave(start);
			return -1;
		}
	}
	return 0;
}

static void close_one(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

void td_front_leave(struct td_front_start *start)
{
	for (int role = 0; role < 2; role++) {
		close_one(&start->listener[role]);
		close_one(&start->lock[role]);
	}
}
