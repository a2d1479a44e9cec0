/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/archive_stream.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio_ext.h>
#include <string.h>

enum { FILE_MODE = 0640 };

/* Keeps the first reason. -1 with errno. */
static int failed(struct td_stream *stream)
{
	if (stream->why == 0)
		stream->why = errno != 0 ? errno : EIO;
	errno = stream->why;
	return -1;
}

/* For stdio: the count, or 0 where it failed. */
static ssize_t put(void *cookie, const char *bytes, size_t count)
{
	struct td_stream *stream = cookie;

	if (stream->why != 0)
		return 0;
	stream->too_much = stream->left < (int64_t)count;
	if (stream->too_much)
		errno = EDQUOT;
	if (stream->too_much || td_disk_write_all(stream->disk, stream->fd, bytes, count) != 0) {
		(void)failed(stream);
		return 0;
	}
	stream->bytes += (int64_t)count;
	stream->left -= (int64_t)count;
	*stream->spent += (int64_t)count;
	return (ssize_t)count;
}

static int no_file(struct td_stream *stream)
{
	int why = errno;

	(void)stream->disk->close(stream->disk->ctx, stream->fd);
	(void)stream->disk->unlink(stream->disk->ctx, stream->new_path);
	errno = why;
	return -1;
}

int td_stream_open(struct td_stream *stream, const struct td_disk *disk, const char *dir, const char *name,
		   int64_t *spent, int64_t left)
{
	memset(stream, 0, sizeof(*stream));
	stream->disk = disk;
	stream->spent = spent;
	stream->left = left;
	(void)snprintf(stream->path, sizeof(stream->path), "%s/%s", dir, name);
	(void)snprintf(stream->new_path, sizeof(stream->new_path), "%s/%s" TD_FILES_NEW, dir, name);
	stream->fd = disk->open(disk->ctx, stream->new_path,
				O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, FILE_MODE);
	if (stream->fd < 0)
		return -1;
	stream->file = fopencookie(stream, "w", (cookie_io_functions_t){.write = put});
	if (!stream->file)
		return no_file(stream);
	(void)setvbuf(stream->file, stream->buffer, _IOFBF, sizeof(stream->buffer));
	return 0;
}

int64_t td_stream_size(const struct td_stream *stream)
{
	return stream->file ? stream->bytes + (int64_t)__fpending(stream->file) : 0;
}

int td_stream_push(struct td_stream *stream)
{
	errno = 0;
	return stream->why == 0 && fflush(stream->file) == 0 ? 0 : failed(stream);
}

int td_stream_sync(struct td_stream *stream)
{
	if (td_stream_push(stream) != 0)
		return -1;
	return stream->disk->fsync(stream->disk->ctx, stream->fd) == 0 ? 0 : failed(stream);
}

int td_stream_name(struct td_stream *stream)
{
	if (td_stream_sync(stream) != 0)
		return -1;
	return stream->disk->rename(stream->disk->ctx, stream->new_path, stream->path) == 0 ? 0
											    : failed(stream);
}

int td_stream_close(struct td_stream *stream)
{
	if (!stream->file)
		return 0;
	(void)td_stream_push(stream);
	(void)fclose(stream->file);
	stream->file = NULL;
	if (stream->disk->close(stream->disk->ctx, stream->fd) != 0)
		(void)failed(stream);
	errno = stream->why;
	return stream->why == 0 ? 0 : -1;
}

void td_stream_drop(struct td_stream *stream)
{
	if (!stream->file)
		return;
	(void)td_stream_close(stream);
	(void)stream->disk->unlink(stream->disk->ctx, stream->new_path);
}
