/* SPDX-License-Identifier: MIT */
/*
 * The seam of daemon/scribe/disk.h with faults on command: every call is counted, and the k-th fails, or it and all
 * that follow; writes take a part only, or nothing once the disk is full. What succeeds is done on the real disk, but
 * for waiting until it is there. Whoever wants to know what was done in which order listens.
 */
#ifndef TD_TESTS_TEST_DISK_H
#define TD_TESTS_TEST_DISK_H

#include <stdbool.h>

#include "daemon/scribe/disk.h"

enum { TEST_DISK_FDS = 256, TEST_DISK_PATH_MAX = 256 };

struct test_disk_call {
	enum { DISK_OPEN, DISK_WRITE, DISK_FSYNC, DISK_CLOSE, DISK_RENAME, DISK_UNLINK, DISK_MKDIR } kind;
	const char *path;  /* of the file; of a descriptor what it was opened by */
	const char *to;    /* RENAME */
	int flags;         /* OPEN */
	int fd;            /* OPEN, WRITE, FSYNC, CLOSE */
	const void *bytes; /* WRITE: what was taken */
	size_t count;
};

struct test_disk {
	struct td_disk disk; /* what is tested gets a pointer to it */
	unsigned int calls;
	unsigned int fail_at; /* the call with this number fails, from 1; 0 = none */
	bool fail_on;         /* and all that follow */
	int fail_errno;
	int64_t room;      /* bytes that can be written; -1: any number */
	size_t write_most; /* bytes that one call takes; 0: any number */
	unsigned int refused;
	unsigned int fsyncs;
	int64_t written;
	unsigned int open; /* descriptors */
	char path[TEST_DISK_FDS][TEST_DISK_PATH_MAX];
	void (*done)(void *ctx, const struct test_disk_call *call);
	void (*before)(void *ctx); /* a disk that stalls */
	void *ctx;
};

/* Without faults. Stays where it is. */
void test_disk_init(struct test_disk *disk);

#endif
