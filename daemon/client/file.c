/* SPDX-License-Identifier: MIT */
#include "daemon/client/file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/scribe/disk.h"

/* A device, a pipe or a link would be replaced by a file; nobody who names one means that. */
static bool may_be_replaced(const char *path)
{
	struct stat there;

	return lstat(path, &there) != 0 || S_ISREG(there.st_mode);
}

static mode_t mode_of_new_files(void)
{
	mode_t mask = umask(0);

	(void)umask(mask);
	return 0666 & ~mask;
}

/* The descriptor is closed in any case. False with errno. */
static bool fill(int fd, const void *bytes, size_t count)
{
	bool filled = fchmod(fd, mode_of_new_files()) == 0 &&
		      td_disk_write_all(td_disk_in_use(), fd, bytes, count) == 0 && fsync(fd) == 0;
	int why = errno;

	if (close(fd) != 0 && filled)
		return false;
	errno = why;
	return filled;
}

static bool replace(const char *path, const void *bytes, size_t count)
{
	char beside[PATH_MAX];
	int length = snprintf(beside, sizeof(beside), "%s.XXXXXX", path);

	if (length < 0 || (size_t)length >= sizeof(beside)) {
		errno = ENAMETOOLONG;
		return false;
	}
	int fd = mkostemp(beside, O_CLOEXEC);

	if (fd < 0)
		return false;
	if (fill(fd, bytes, count) && rename(beside, path) == 0)
		return true;
	int why = errno;

	(void)unlink(beside);
	errno = why;
	return false;
}

int td_cli_file_write(const char *path, const void *bytes, size_t count, struct td_error *err)
{
	if (!may_be_replaced(path))
		return td_error_set(err, "%s is no regular file: name one that may be replaced", path);
	if (!replace(path, bytes, count))
		return td_error_set(err, "cannot write %s: %s; what was there before is as it was", path,
				    strerror(errno));
	return 0;
}
