/* SPDX-License-Identifier: MIT */
#include "daemon/safe_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int open_dir(const char *dir, struct td_error *err)
{
	int fd = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

	if (fd < 0)
		td_error_set(err, "%s: %s; the state directory must exist and belong to the daemon's user",
			     dir, strerror(errno));
	return fd;
}

/* -1 with errno, else the number of bytes. */
static ssize_t read_all(int fd, char *bytes, size_t most)
{
	size_t count = 0;

	while (count < most) {
		ssize_t got = read(fd, bytes + count, most - count);

		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return -1;
		if (got == 0)
			break;
		count += (size_t)got;
	}
	return (ssize_t)count;
}

ssize_t td_safe_file_read(const char *dir, const char *name, void *bytes, size_t most, struct td_error *err)
{
	int dir_fd = open_dir(dir, err);

	if (dir_fd < 0)
		return TD_SAFE_FILE_BAD;
	int fd = openat(dir_fd, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
	int why = errno;

	close(dir_fd);
	if (fd < 0 && why == ENOENT)
		return TD_SAFE_FILE_NONE;
	ssize_t count = fd < 0 ? -1 : read_all(fd, bytes, most);

	why = fd < 0 ? why : errno;
	if (fd >= 0)
		close(fd);
	return count >= 0 ? count : td_error_set(err, "%s/%s: %s", dir, name, strerror(why));
}

static bool write_all(int fd, const char *bytes, size_t count)
{
	while (count > 0) {
		ssize_t put = write(fd, bytes, count);

		if (put < 0 && errno == EINTR)
			continue;
		if (put <= 0)
			return false;
		bytes += put;
		count -= (size_t)put;
	}
	return true;
}

/* The new file, whole and on the disk, beside the old one. */
static bool write_new(int dir_fd, const char *new_name, const void *bytes, size_t count)
{
	int fd = openat(dir_fd, new_name, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);

	if (fd < 0)
		return false;
	bool written = write_all(fd, bytes, count) && fsync(fd) == 0;
	int why = errno;

	if (close(fd) != 0 && written)
		return false;
	errno = why;
	return written;
}

int td_safe_file_write(const char *dir, const char *name, const void *bytes, size_t count,
		       struct td_error *err)
{
	char new_name[64 + 4];
	int dir_fd = open_dir(dir, err);

	if (dir_fd < 0)
		return -1;
	(void)snprintf(new_name, sizeof(new_name), "%.60s.new", name);
	bool saved = write_new(dir_fd, new_name, bytes, count) &&
		     renameat(dir_fd, new_name, dir_fd, name) == 0 && fsync(dir_fd) == 0;
	int why = errno;

	close(dir_fd);
	return saved ? 0 : td_error_set(err, "%s/%s: %s", dir, name, strerror(why));
}
