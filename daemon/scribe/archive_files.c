/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/archive_files.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { DIGITS_MIN = 8, DIGITS_MAX = 18, SECONDS_A_DAY = 86400 };

#define SUFFIX ".vcd"

static const char *const PREFIX[TD_FILES_KINDS] = {
	[TD_FILES_RUN] = "run-",
	[TD_FILES_TRIP] = "trip-",
};

void td_files_name(enum td_files_kind kind, uint64_t number, const char *about, char name[TD_FILES_NAME_MAX])
{
	(void)snprintf(name, TD_FILES_NAME_MAX, "%s%0*" PRIu64 "%s%.80s" SUFFIX, PREFIX[kind], DIGITS_MIN,
		       number, about[0] ? "-" : "", about);
}

static bool ends_in(const char *name, const char *end)
{
	size_t length = strlen(name);
	size_t count = strlen(end);

	return length >= count && strcmp(name + length - count, end) == 0;
}

static bool begins_as(const char *name, enum td_files_kind kind)
{
	return strncmp(name, PREFIX[kind], strlen(PREFIX[kind])) == 0;
}

/* The number in a name of that kind; 0: it is none. */
static uint64_t number_of(const char *name, enum td_files_kind kind)
{
	const char *digits = name + strlen(PREFIX[kind]);

	if (!begins_as(name, kind) || !ends_in(name, SUFFIX) || strlen(name) >= TD_FILES_NAME_MAX)
		return 0;
	size_t count = strspn(digits, "0123456789");
	char after = kind == TD_FILES_RUN ? '.' : '-';

	if (count < DIGITS_MIN || count > DIGITS_MAX || digits[count] != after)
		return 0;
	return strtoull(digits, NULL, 10);
}

static void count_in(struct td_files_view *view, const char *name, uint64_t number, const struct stat *file,
		     int64_t day)
{
	view->count++;
	view->bytes += file->st_size;
	if (file->st_mtime / SECONDS_A_DAY == day)
		view->bytes_today += file->st_size;
	if (number > view->highest)
		view->highest = number;
	if (view->oldest[0] != '\0' && number >= view->lowest)
		return;
	view->lowest = number;
	(void)snprintf(view->oldest, sizeof(view->oldest), "%.*s", TD_FILES_NAME_MAX - 1, name);
}

int td_files_look(const char *dir, int64_t day, struct td_files_view view[TD_FILES_KINDS])
{
	DIR *list = opendir(dir);

	memset(view, 0, TD_FILES_KINDS * sizeof(*view));
	if (!list)
		return -1;
	for (struct dirent *next = readdir(list); next; next = readdir(list))
		for (enum td_files_kind kind = 0; kind < TD_FILES_KINDS; kind++) {
			uint64_t number = number_of(next->d_name, kind);
			struct stat file;

			if (number > 0 &&
			    fstatat(dirfd(list), next->d_name, &file, AT_SYMLINK_NOFOLLOW) == 0 &&
			    S_ISREG(file.st_mode))
				count_in(&view[kind], next->d_name, number, &file, day);
		}
	closedir(list);
	return 0;
}

static int remove_one(const struct td_disk *disk, const char *dir, const char *name)
{
	char path[PATH_MAX + TD_FILES_NAME_MAX];

	(void)snprintf(path, sizeof(path), "%s/%s", dir, name);
	return disk->unlink(disk->ctx, path);
}

static bool is_new(const char *name)
{
	return ends_in(name, SUFFIX TD_FILES_NEW) &&
	       (begins_as(name, TD_FILES_RUN) || begins_as(name, TD_FILES_TRIP));
}

int td_files_clean(const struct td_disk *disk, const char *dir)
{
	DIR *list = opendir(dir);
	int why = 0;

	if (!list)
		return -1;
	for (struct dirent *next = readdir(list); next; next = readdir(list))
		if (is_new(next->d_name) && remove_one(disk, dir, next->d_name) != 0)
			why = errno;
	closedir(list);
	errno = why;
	return why == 0 ? 0 : -1;
}

int td_files_prune(const struct td_disk *disk, const char *dir, enum td_files_kind kind, unsigned int count,
		   int64_t bytes, uint64_t spared)
{
	struct td_files_view view[TD_FILES_KINDS];

	for (;;) {
		if (td_files_look(dir, 0, view) != 0)
			return -1;
		if (view[kind].count <= count && view[kind].bytes <= bytes)
			return 0;
		if (view[kind].oldest[0] == '\0' || view[kind].lowest >= spared)
			return 0;
		if (remove_one(disk, dir, view[kind].oldest) != 0)
			return -1;
	}
}
