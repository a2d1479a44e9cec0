/* SPDX-License-Identifier: MIT */
#include "daemon/retell/files.h"

#include <dirent.h>
#include <errno.h>
#include <grp.h>
#include <pwd.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { WHO_MAX = 64, PATH_MAX_SHOWN = 4096 };

static void user_word(uid_t uid, char out[WHO_MAX])
{
	const struct passwd *user = getpwuid(uid);

	if (user)
		(void)snprintf(out, WHO_MAX, "%s", user->pw_name);
	else
		(void)snprintf(out, WHO_MAX, "number %u", (unsigned int)uid);
}

static void group_word(gid_t gid, char out[WHO_MAX])
{
	const struct group *group = getgrgid(gid);

	if (group)
		(void)snprintf(out, WHO_MAX, "%s", group->gr_name);
	else
		(void)snprintf(out, WHO_MAX, "number %u", (unsigned int)gid);
}

/* The nearest place above `path` that may be looked at; the file itself where that is possible. */
static bool owner_of(const char *path, struct stat *about)
{
	char place[PATH_MAX_SHOWN];

	(void)snprintf(place, sizeof(place), "%s", path);
	while (stat(place, about) != 0) {
		char *slash = strrchr(place, '/');

		if (!slash || slash == place)
			return false;
		*slash = '\0';
	}
	return true;
}

int td_retell_cannot_read(const char *path, struct td_error *err)
{
	int why = errno;
	struct stat about;
	char user[WHO_MAX];
	char group[WHO_MAX];

	if ((why != EACCES && why != EPERM) || !owner_of(path, &about))
		return td_error_set(err, "%s: cannot be read: %s", path, strerror(why));
	user_word(about.st_uid, user);
	group_word(about.st_gid, group);
	return td_error_set(
		err, "%s: this user may not read it; user %s may%s%s: try it as such a user, or as root",
		path, user, about.st_mode & S_IRGRP ? ", and members of group " : "",
		about.st_mode & S_IRGRP ? group : "");
}

/* KIND-NNNNNNNN.vcd or KIND-NNNNNNNN-...vcd */
static bool is_kind(const char *name, const char *kind)
{
	size_t length = strlen(kind);
	const char *end = name + strlen(name);

	if (strncmp(name, kind, length) != 0 || name[length] != '-' ||
	    strspn(name + length + 1, "0123456789") < 8)
		return false;
	return end - name > 4 && strcmp(end - 4, ".vcd") == 0;
}

/* Numbers have at least eight digits, and a longer one is a higher one. */
static int by_number(const void *a, const void *b)
{
	const char *one = strchr(*(const char *const *)a, '-') + 1;
	const char *other = strchr(*(const char *const *)b, '-') + 1;
	size_t digits = strspn(one, "0123456789");
	size_t others = strspn(other, "0123456789");

	if (digits != others)
		return digits < others ? -1 : 1;
	return strncmp(one, other, digits);
}

static int keep(struct td_retell_files *files, const char *name, struct td_error *err)
{
	char **grown = reallocarray(files->name, files->count + 1, sizeof(*grown));

	if (!grown)
		return td_error_set(err, "no memory for the list of traces");
	files->name = grown;
	grown[files->count] = strdup(name);
	if (!grown[files->count])
		return td_error_set(err, "no memory for the list of traces");
	files->count++;
	return 0;
}

int td_retell_files_list(struct td_retell_files *files, const char *dir, const char *kind,
			 struct td_error *err)
{
	int result = 0;

	*files = (struct td_retell_files){0};
	DIR *open = opendir(dir);
	if (!open)
		return td_retell_cannot_read(dir, err);
	for (const struct dirent *entry = readdir(open); entry && result == 0; entry = readdir(open))
		if (is_kind(entry->d_name, kind))
			result = keep(files, entry->d_name, err);
	(void)closedir(open);
	if (files->count > 1)
		qsort(files->name, files->count, sizeof(*files->name), by_number);
	return result;
}

void td_retell_files_free(struct td_retell_files *files)
{
	for (size_t i = 0; i < files->count; i++)
		free(files->name[i]);
	free(files->name);
	*files = (struct td_retell_files){0};
}
