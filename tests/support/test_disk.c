/* SPDX-License-Identifier: MIT */
#include "tests/support/test_disk.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool refuses(struct test_disk *self)
{
	if (self->before)
		self->before(self->ctx);
	self->calls++;
	if (self->fail_at == 0 || self->calls < self->fail_at ||
	    (self->calls > self->fail_at && !self->fail_on))
		return false;
	self->refused++;
	errno = self->fail_errno;
	return true;
}

static int told(const struct test_disk *self, int result, struct test_disk_call call)
{
	if (result >= 0 && self->done)
		self->done(self->ctx, &call);
	return result;
}

static int fake_open(void *ctx, const char *path, int flags, mode_t mode)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	int fd = td_disk_real()->open(NULL, path, flags, mode);

	if (fd < 0)
		return -1;
	if (fd >= TEST_DISK_FDS)
		abort();
	self->open++;
	(void)snprintf(self->path[fd], TEST_DISK_PATH_MAX, "%s", path);
	return told(
		self, fd,
		(struct test_disk_call){.kind = DISK_OPEN, .path = self->path[fd], .flags = flags, .fd = fd});
}

static ssize_t fake_write(void *ctx, int fd, const void *bytes, size_t count)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	if (self->write_most > 0 && count > self->write_most)
		count = self->write_most;
	if (self->room >= 0 && count > (size_t)self->room)
		count = (size_t)self->room;
	if (count == 0) {
		self->refused++;
		errno = ENOSPC;
		return -1;
	}
	ssize_t put = td_disk_real()->write(NULL, fd, bytes, count);

	if (put < 0)
		return -1;
	self->written += put;
	if (self->room >= 0)
		self->room -= put;
	(void)told(self, 0,
		   (struct test_disk_call){.kind = DISK_WRITE,
					   .path = self->path[fd],
					   .fd = fd,
					   .bytes = bytes,
					   .count = (size_t)put});
	return put;
}

static int fake_fsync(void *ctx, int fd)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	self->fsyncs++;
	return told(self, 0, (struct test_disk_call){.kind = DISK_FSYNC, .path = self->path[fd], .fd = fd});
}

/* As on Linux: closed in every case. */
static int fake_close(void *ctx, int fd)
{
	struct test_disk *self = ctx;
	bool bad = refuses(self);
	int why = errno;

	self->open--;
	(void)td_disk_real()->close(NULL, fd);
	errno = why;
	return bad ? -1
		   : told(self, 0,
			  (struct test_disk_call){.kind = DISK_CLOSE, .path = self->path[fd], .fd = fd});
}

static int fake_rename(void *ctx, const char *from, const char *to)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	return told(self, td_disk_real()->rename(NULL, from, to),
		    (struct test_disk_call){.kind = DISK_RENAME, .path = from, .to = to});
}

static int fake_unlink(void *ctx, const char *path)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	return told(self, td_disk_real()->unlink(NULL, path),
		    (struct test_disk_call){.kind = DISK_UNLINK, .path = path});
}

static int fake_mkdir(void *ctx, const char *path, mode_t mode)
{
	struct test_disk *self = ctx;

	if (refuses(self))
		return -1;
	return told(self, td_disk_real()->mkdir(NULL, path, mode),
		    (struct test_disk_call){.kind = DISK_MKDIR, .path = path});
}

void test_disk_init(struct test_disk *disk)
{
	memset(disk, 0, sizeof(*disk));
	disk->fail_errno = EIO;
	disk->room = -1;
	disk->disk = (struct td_disk){
		.ctx = disk,
		.open = fake_open,
		.write = fake_write,
		.fsync = fake_fsync,
		.close = fake_close,
		.rename = fake_rename,
		.unlink = fake_unlink,
		.mkdir = fake_mkdir,
	};
}
