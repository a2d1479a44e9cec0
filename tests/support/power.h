/* SPDX-License-Identifier: MIT */
/*
 * Power cuts, one after another: what was done through a test_disk is written down, and for every moment in it the
 * directories are made that a power cut at that moment may leave.
 *
 * What is certain is only what POSIX says: the bytes of a file once fsync() of it has returned, names (made, renamed, removed)
 * once fsync() of their directory has. Of everything else each piece may be there or not, whatever its order: a write
 * whole, not at all, as its beginning, or as zeros of its length; before a later piece that is there stand zeros where an
 * earlier one is not. A rename happens as a whole or not at all.
 */
#ifndef TD_TESTS_POWER_H
#define TD_TESTS_POWER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "tests/support/dice.h"
#include "tests/support/test_disk.h"

enum {
	POWER_FILES = 128,
	POWER_CALLS = 4000,
	POWER_PENDING = 256,
	POWER_NAMES = 64,
	POWER_NAME_MAX = 80,
};

/* A disk that lies. */
enum { POWER_LIES_FILES = 1, POWER_LIES_OUTER = 2, POWER_LIES_INNER = 4 };

enum power_kind {
	POWER_MAKE,
	POWER_RENAME,
	POWER_REMOVE,
	POWER_WRITE,
	POWER_EMPTY,
	POWER_SYNC,
	POWER_SYNC_DIR
};

struct power_call {
	enum power_kind kind;
	int file; /* MAKE, WRITE, EMPTY, SYNC */
	int dir;  /* 0: the outer one, 1: the inner one */
	char name[POWER_NAME_MAX];
	char to[POWER_NAME_MAX];
	uint8_t *bytes; /* WRITE */
	size_t count;
	size_t offset;
};

struct power_name {
	int dir;
	int file;
	char name[POWER_NAME_MAX];
	uint64_t content; /* tells different contents apart */
};

struct power_log {
	struct test_disk disk; /* first: what is tested gets a pointer to it */
	char outer[TEST_DISK_PATH_MAX];
	const char *inner; /* name of the inner directory */
	unsigned int calls;
	struct power_call call[POWER_CALLS];
	unsigned int lies; /* bit set POWER_LIES_...: fsync() of those does nothing */
	int files;
	size_t size[POWER_FILES];
	unsigned int names; /* as they are without a power cut */
	struct power_name name[POWER_NAMES];
};

/* Writes down what is done in the directory `outer`, which exists and is empty, and in `inner` in it. */
void power_begin(struct power_log *log, const char *outer, const char *inner);

/* A directory as a power cut left it. Files in it may be removed, but not changed. */
struct power_state {
	unsigned int after; /* so many calls had returned; the next one may have been under way */
	const char *dir;
	bool has_inner;
	unsigned int names;
	struct power_name name[POWER_NAMES];
};

struct power_count {
	uint64_t states;   /* tried */
	uint64_t distinct; /* of them different from all before at the same moment, and looked at */
};

/* Calls `look` for every moment and state, in `dir`, which is made. All states where at most eight pieces are
 * uncertain; else nothing, everything, each one alone, all but each, and `random` others (a tenth of that where the next
 * call makes nothing certain: what may be there then may be there after it, too). `look` returns false to stop. */
struct power_count power_cut(const struct power_log *log, const char *dir, struct dice *dice,
			     unsigned int random, bool (*look)(void *ctx, const struct power_state *state),
			     void *ctx);

void power_end(struct power_log *log);

#endif
