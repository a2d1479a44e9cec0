/* SPDX-License-Identifier: MIT */
/*
 * Small files that are whole at every instant: written to a second file, synchronised, renamed, and the directory
 * synchronised, so that either the old or the new one is there, whenever the power goes.
 */
#ifndef TD_DAEMON_SAFE_FILE_H
#define TD_DAEMON_SAFE_FILE_H

#include <stddef.h>
#include <sys/types.h>

#include "error.h"

/* Reads up to `most` bytes of dir/name. The count; TD_SAFE_FILE_NONE where there is no such file in a directory that
 * can be read; TD_SAFE_FILE_BAD with a sentence. Blocks on the disk. */
enum { TD_SAFE_FILE_BAD = -1, TD_SAFE_FILE_NONE = -2 };
ssize_t td_safe_file_read(const char *dir, const char *name, void *bytes, size_t most, struct td_error *err);

/* 0 only once it is on the disk. -1 with a sentence: the old file is still there, or (only if synchronising the
 * directory failed) perhaps the new one. Blocks on the disk. `name` has at most 60 bytes. */
int td_safe_file_write(const char *dir, const char *name, const void *bytes, size_t count,
		       struct td_error *err);

#endif
