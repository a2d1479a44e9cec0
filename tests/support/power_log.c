/* SPDX-License-Identifier: MIT */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/power.h"

/* Directory and name of a path in the log's directory; false: it is the outer (dir 0) or inner (dir 1) one itself. */
static bool split(const struct power_log *log, const char *path, int *dir, char name[POWER_NAME_MAX])
{
	size_t inner = strlen(log->inner);
	const char *rest = path + strlen(log->outer);

	*dir = 0;
	if (rest[0] == '\0')
		return false;
	rest++;
	if (strncmp(rest, log->inner, inner) == 0 && (rest[inner] == '/' || rest[inner] == '\0')) {
		*dir = 1;
		rest += inner;
		if (rest[0] == '\0')
			return false;
		rest++;
	}
	(void)snprintf(name, POWER_NAME_MAX, "%s", rest);
	return true;
}

static struct power_name *find(struct power_log *log, int dir, const char *name)
{
	for (unsigned int i = 0; i < log->names; i++)
		if (log->name[i].dir == dir && strcmp(log->name[i].name, name) == 0)
			return &log->name[i];
	return NULL;
}

static void forget(struct power_log *log, int dir, const char *name)
{
	struct power_name *gone = find(log, dir, name);

	if (gone)
		*gone = log->name[--log->names];
}

static void know(struct power_log *log, int dir, const char *name, int file)
{
	forget(log, dir, name);
	if (log->names == POWER_NAMES)
		abort();
	struct power_name *next = &log->name[log->names++];

	*next = (struct power_name){.dir = dir, .file = file};
	(void)snprintf(next->name, sizeof(next->name), "%s", name);
}

static struct power_call *add(struct power_log *log, enum power_kind kind, int dir, const char *name)
{
	if (log->calls == POWER_CALLS)
		abort();
	struct power_call *call = &log->call[log->calls++];

	*call = (struct power_call){.kind = kind, .dir = dir, .file = -1};
	(void)snprintf(call->name, sizeof(call->name), "%s", name);
	return call;
}

static void opened(struct power_log *log, const struct test_disk_call *what, int dir, const char *name)
{
	struct power_name *there = find(log, dir, name);

	if (!there && log->files == POWER_FILES)
		abort();
	if (!there) {
		know(log, dir, name, log->files);
		add(log, POWER_MAKE, dir, name)->file = log->files++;
	} else if (what->flags & O_TRUNC) {
		add(log, POWER_EMPTY, dir, name)->file = there->file;
		log->size[there->file] = 0;
	}
}

static void wrote(struct power_log *log, const struct test_disk_call *what, int dir, const char *name)
{
	const struct power_name *there = find(log, dir, name);

	/* A file that goes on being written after it was renamed or removed is known by its old name. */
	if (!there)
		abort();
	struct power_call *call = add(log, POWER_WRITE, dir, name);

	call->file = there->file;
	call->offset = log->size[there->file];
	call->count = what->count;
	call->bytes = malloc(what->count);
	if (!call->bytes)
		abort();
	memcpy(call->bytes, what->bytes, what->count);
	log->size[there->file] += what->count;
}

static void renamed(struct power_log *log, const struct test_disk_call *what, int dir, const char *name)
{
	char to[POWER_NAME_MAX];
	int to_dir;
	const struct power_name *there = find(log, dir, name);
	int file = there ? there->file : -1;

	if (!split(log, what->to, &to_dir, to) || to_dir != dir || file < 0)
		abort();
	struct power_call *call = add(log, POWER_RENAME, dir, name);

	call->file = file;
	(void)snprintf(call->to, sizeof(call->to), "%s", to);
	forget(log, dir, name);
	know(log, dir, to, file);
	/* Whoever holds it open goes on writing it. */
	for (int fd = 0; fd < TEST_DISK_FDS; fd++)
		if (strcmp(log->disk.path[fd], what->path) == 0)
			(void)snprintf(log->disk.path[fd], TEST_DISK_PATH_MAX, "%s", what->to);
}

static void synced(struct power_log *log, int dir, const char *name, bool is_file)
{
	const struct power_name *there = is_file ? find(log, dir, name) : NULL;
	unsigned int lie = is_file ? POWER_LIES_FILES : dir == 0 ? POWER_LIES_OUTER : POWER_LIES_INNER;

	if (is_file && !there)
		abort();
	if (log->lies & lie)
		return;
	struct power_call *call = add(log, is_file ? POWER_SYNC : POWER_SYNC_DIR, dir, is_file ? name : "");

	call->file = there ? there->file : -1;
}

static void done(void *ctx, const struct test_disk_call *what)
{
	struct power_log *log = ctx;
	char name[POWER_NAME_MAX];
	int dir;
	bool is_file = split(log, what->path, &dir, name);

	if (what->kind == DISK_OPEN && is_file)
		opened(log, what, dir, name);
	else if (what->kind == DISK_WRITE)
		wrote(log, what, dir, name);
	else if (what->kind == DISK_FSYNC)
		synced(log, dir, name, is_file);
	else if (what->kind == DISK_RENAME)
		renamed(log, what, dir, name);
	else if (what->kind == DISK_MKDIR)
		(void)add(log, POWER_MAKE, 0, log->inner);
	else if (what->kind == DISK_UNLINK) {
		(void)add(log, POWER_REMOVE, dir, name);
		forget(log, dir, name);
	}
}

void power_begin(struct power_log *log, const char *outer, const char *inner)
{
	memset(log, 0, sizeof(*log));
	test_disk_init(&log->disk);
	log->disk.done = done;
	log->disk.ctx = log;
	log->inner = inner;
	(void)snprintf(log->outer, sizeof(log->outer), "%s", outer);
}

void power_end(struct power_log *log)
{
	for (unsigned int i = 0; i < log->calls; i++)
		free(log->call[i].bytes);
	log->calls = 0;
}
