/* SPDX-License-Identifier: MIT */
/*
 * A file on its way to the disk, as stdio sees it: under its name with ".new" behind it until what must be there is on
 * the disk for certain. Everything goes through the seam of disk.h.
 */
#ifndef TD_DAEMON_ARCHIVE_STREAM_H
#define TD_DAEMON_ARCHIVE_STREAM_H

#include <limits.h>
#include <stdbool.h>
#include <stdio.h>

#include "daemon/scribe/archive_files.h"

enum { TD_STREAM_PATH_MAX = PATH_MAX + TD_FILES_NAME_MAX };

/* All zero: closed. */
struct td_stream {
	FILE *file; /* NULL: closed */
	const struct td_disk *disk;
	int64_t *spent; /* what was written is added here */
	int64_t left;   /* so much may be written; beyond it: EDQUOT, and too_much is set */
	int64_t bytes;  /* written so far */
	int fd;
	int why; /* errno of the first call that failed; 0 = none. Nothing is written after it */
	bool too_much;
	char path[TD_STREAM_PATH_MAX];
	char new_path[TD_STREAM_PATH_MAX];
	char buffer[16 * 1024];
};

/* Opens dir/name.new, empty. 0, or -1 with errno, and it is closed. */
int td_stream_open(struct td_stream *stream, const struct td_disk *disk, const char *dir, const char *name,
		   int64_t *spent, int64_t left);

/* Bytes of the file, those that wait in memory too. */
int64_t td_stream_size(const struct td_stream *stream);

/* Hands over everything to the kernel. 0, or -1 with errno. */
int td_stream_push(struct td_stream *stream);

/* Then waits until it is on the disk. Likewise. */
int td_stream_sync(struct td_stream *stream);

/* Then gives the file its name, which is not on the disk yet (td_disk_sync_dir()). Likewise. */
int td_stream_name(struct td_stream *stream);

/* Closes it; what waits in memory is written, if it can be. 0, or -1 with errno. */
int td_stream_close(struct td_stream *stream);

/* Closes it and removes it, if it has no name yet. */
void td_stream_drop(struct td_stream *stream);

#endif
