/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/disk.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

static int real_open(void *ctx, const char *path, int flags, mode_t mode)
{
	(void)ctx;
	return open(path, flags, mode);
}

static ssize_t real_write(void *ctx, int fd, const void *bytes, size_t count)
{
	(void)ctx;
	return write(fd, bytes, count);
}

static int real_fsync(void *ctx, int fd)
{
	(void)ctx;
	return fsync(fd);
}

static int real_close(void *ctx, int fd)
{
	(void)ctx;
	return close(fd);
}

static int real_rename(void *ctx, const char *from, const char *to)
{
	(void)ctx;
	return rename(from, to);
}

static int real_unlink(void *ctx, const char *path)
{
	(void)ctx;
	return unlink(path);
}

static int real_mkdir(void *ctx, const char *path, mode_t mode)
{
	(void)ctx;
	return mkdir(path, mode);
}

static const struct td_disk REAL = {
	.open = real_open,
	.write = real_write,
	.fsync = real_fsync,
	.close = real_close,
	.rename = real_rename,
	.unlink = real_unlink,
	.mkdir = real_mkdir,
};

static const struct td_disk *in_use = &REAL;

const struct td_disk *td_disk_real(void)
{
	return &REAL;
}

const struct td_disk *td_disk_in_use(void)
{
	return in_use;
}

void td_disk_use(const struct td_disk *disk)
{
	in_use = disk ? disk : &REAL;
}

int td_disk_write_all(const struct td_disk *disk, int fd, const void *bytes, size_t count)
{
	const char *rest = bytes;

	while (count > 0) {
		ssize_t put = disk->write(disk->ctx, fd, rest, count);

		if (put < 0 && errno == EINTR)
			continue;
		if (put < 0)
			return -1;
		if (put == 0) {
			errno = EIO;
			return -1;
		}
		rest += put;
		count -= (size_t)put;
	}
	return 0;
}

int td_disk_sync_dir(const struct td_disk *disk, const char *dir)
{
	int fd = disk->open(disk->ctx, dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);

	if (fd < 0)
		return -1;
	int result = disk->fsync(disk->ctx, fd);
	int why = errno;

	(void)disk->close(disk->ctx, fd);
	errno = why;
	return result;
}
