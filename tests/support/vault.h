/* SPDX-License-Identifier: MIT */
/* An archive in a directory of its own, on a disk that may fail, with a core that runs; and what is found there. */
#ifndef TD_TESTS_VAULT_H
#define TD_TESTS_VAULT_H

#include "daemon/scribe/archive_files.h"
#include "tests/support/recorder.h"
#include "tests/support/test_disk.h"

enum { VAULT_FILES_MAX = 600, VAULT_SAID_MAX = 8192 };

struct vault {
	char root[40];
	char dir[64]; /* of the traces, in root */
	struct recorder rec;
	struct test_disk disk;
	struct td_archive_setup setup;
	int said_fd; /* what goes to standard error meanwhile */
	int stderr_fd;
};

/* A fresh directory, everything as recorder_setup() has it, the core started at 1000 s; the archive is not open. */
void vault_begin(struct vault *vault);
void vault_open(struct vault *vault);
/* Also when none is open. */
void vault_close(struct vault *vault);
void vault_end(struct vault *vault);

/* The core alone begins anew, ten seconds later: another start of the daemon. */
void vault_restart(struct vault *vault);

/* What was said on standard error since vault_begin(), or since this was asked last. */
const char *vault_said(struct vault *vault);
/* How often a text stands in it. */
unsigned int vault_count(const char *said, const char *text);

/* Names in the directory that begin so, in order; how many there are. */
unsigned int vault_list(const struct vault *vault, const char *prefix,
			char list[VAULT_FILES_MAX][TD_FILES_NAME_MAX]);
int64_t vault_bytes(const struct vault *vault, const char *prefix);
const char *vault_path(const struct vault *vault, const char *name); /* static buffer */
void vault_put(const struct vault *vault, const char *name, size_t bytes);

/* Plays a file that must be whole (or only cut off) and what the core does. */
struct recorder_file vault_play(const struct vault *vault, const char *name);

/* Plays every file, which must all be so; the number of files. */
unsigned int vault_play_all(const struct vault *vault);

#endif
