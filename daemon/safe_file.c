/* SPDX-License-Identifier: MIT */
#include "daemon/safe_file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/scribe/disk.h"

static int no_dir(struct td_error *err, const char *dir)
{
	return td_error_set(err, "%s: %s; the state directory must exist and belong to the daemon's user",
			    dir, strerror(errno));
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
	int dir_fd = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

	if (dir_fd < 0) {
		(void)no_dir(err, dir);
		return TD_SAFE_FILE_BAD;
	}
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

/* The new file, whole and on the disk, beside the old one. */
static bool write_new(const struct td_disk *disk, const char *path, const void *bytes, size_t count)
{
	int fd = disk->open(disk->ctx, path, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);

	if (fd < 0)
		return false;
	bool written = td_disk_write_all(disk, fd, bytes, count) == 0 && disk->fsync(disk->ctx, fd) == 0;
	int why = errno;

	if (disk->close(disk->ctx, fd) != 0 && written)
		return false;
	errno = why;
	return written;
}

/* The new file takes the place of the old one, and that is on the disk, too. */
static bool replace(const struct td_disk *disk, int dir_fd, const char *dir, const char *name,
		    const void *bytes, size_t count)
{
	char path[PATH_MAX];
	char new_path[PATH_MAX];
	int length = snprintf(new_path, sizeof(new_path), "%s/%s.new", dir, name);

	if (length < 0 || (size_t)length >= sizeof(new_path)) {
		errno = ENAMETOOLONG;
		return false;
	}
	(void)snprintf(path, sizeof(path), "%.*s", length - (int)strlen(".new"), new_path);
	return write_new(disk, new_path, bytes, count) && disk->rename(disk->ctx, new_path, path) == 0 &&
	       disk->fsync(disk->ctx, dir_fd) == 0;
}

int td_safe_file_write(const char *dir, const char *name, const void *bytes, size_t count,
		       struct td_error *err)
{
	const struct td_disk *disk = td_disk_in_use();
	int dir_fd = disk->open(disk->ctx, dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);

	if (dir_fd < 0)
		return no_dir(err, dir);
	bool saved = replace(disk, dir_fd, dir, name, bytes, count);
	int why = errno;

	(void)disk->close(disk->ctx, dir_fd);
	return saved ? 0 : td_error_set(err, "%s/%s: %s", dir, name, strerror(why));
}
