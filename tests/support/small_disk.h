/* SPDX-License-Identifier: MIT */
/* A file on a disk that takes so many writes and is full from then on; what it took stays. */
#ifndef TD_TESTS_SMALL_DISK_H
#define TD_TESTS_SMALL_DISK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct small_disk {
	FILE *file; /* unbuffered: everything that is printed is a write */
	long left;  /* writes that it takes yet */
	char *bytes;
	size_t length;
	FILE *kept;
};

/* What it says once it is full, as the writer of traces passes it on. */
#define SMALL_DISK_SAYS                                                                                      \
	"the trace could not be written: No space left on device; what was written before is readable"

void small_disk_open(struct small_disk *disk, long writes);

/* What it took stands in bytes and length, until small_disk_close(). */
void small_disk_look(struct small_disk *disk);

void small_disk_close(struct small_disk *disk);

#endif
