/* SPDX-License-Identifier: MIT */
/*
 * The files in the directory of the traces: their names, what there is of them, and which go. Nothing is remembered
 * between two calls, so what somebody else does there is no fault. A file that is not whole yet has ".new" behind its name.
 */
#ifndef TD_DAEMON_ARCHIVE_FILES_H
#define TD_DAEMON_ARCHIVE_FILES_H

#include <stdint.h>

#include "daemon/scribe/disk.h"

enum td_files_kind { TD_FILES_RUN = 0, TD_FILES_TRIP, TD_FILES_KINDS };

enum { TD_FILES_NAME_MAX = 128 }; /* bytes of a name, terminator included */

#define TD_FILES_NEW ".new"

struct td_files_view {
	unsigned int count;
	int64_t bytes;
	int64_t bytes_today; /* of files that were last written on that day */
	uint64_t highest;    /* number; 0 = there is none */
	uint64_t lowest;
	char oldest[TD_FILES_NAME_MAX]; /* name of the lowest; "" = there is none */
};

/* "run-00000001.vcd", or "trip-00000001-AXIS-CAUSE.vcd" where `about` is "AXIS-CAUSE". */
void td_files_name(enum td_files_kind kind, uint64_t number, const char *about, char name[TD_FILES_NAME_MAX]);

/* `day`: days of UTC since 1970. 0, or -1 with errno. Files of other names do not count. */
int td_files_look(const char *dir, int64_t day, struct td_files_view view[TD_FILES_KINDS]);

/* Removes what is not whole, which nobody writes any more. 0, or -1 with errno. */
int td_files_clean(const struct td_disk *disk, const char *dir);

/* Removes the oldest of a kind until no more than `count` and `bytes` are left, but none whose number is `spared` or
 * higher. 0, or -1 with errno. */
int td_files_prune(const struct td_disk *disk, const char *dir, enum td_files_kind kind, unsigned int count,
		   int64_t bytes, uint64_t spared);

#endif
