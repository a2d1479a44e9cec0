/* SPDX-License-Identifier: MIT */
/* A file of the client's that others read while it is written anew. */
#ifndef TD_DAEMON_CLIENT_FILE_H
#define TD_DAEMON_CLIENT_FILE_H

#include <stddef.h>

#include "error.h"

/* Puts a new file with these bytes in the place of `path`, at once: written beside it ("PATH." and six letters), synchronised,
 * renamed. What stands at `path` may be nothing or a regular file; anything else is left alone and an error. Readable for whom
 * the umask lets. 0, or -1 with a sentence, and the old file as it was. Blocks on the disk. For one thread: looks at the umask. */
int td_cli_file_write(const char *path, const void *bytes, size_t count, struct td_error *err);

#endif
