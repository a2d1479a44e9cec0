/* SPDX-License-Identifier: MIT */
/* The trace files of one kind in a directory (scribe/archive.h), oldest first. */
#ifndef TD_DAEMON_RETELL_FILES_H
#define TD_DAEMON_RETELL_FILES_H

#include <stddef.h>

#include "error.h"

struct td_retell_files {
	size_t count;
	char **name; /* "run-00000012.vcd" */
};

/* `kind` is "run" or "trip". 0, or -1 with a sentence that says who may read the directory. *files is to be freed in
 * either case. */
int td_retell_files_list(struct td_retell_files *files, const char *dir, const char *kind,
			 struct td_error *err);
void td_retell_files_free(struct td_retell_files *files);

/* A sentence about a file or directory that could not be read, from errno; where rights are missing it says whose they
 * are. Returns -1. */
int td_retell_cannot_read(const char *path, struct td_error *err);

#endif
