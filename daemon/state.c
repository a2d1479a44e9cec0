/* SPDX-License-Identifier: MIT */
#include "daemon/state.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/crc.h"

#define NEW_FILE TD_STATE_FILE ".new"

enum { TEXT_MAX = 128 };

/* The only two files there can be; returns the length. */
static size_t state_text(bool latched, char text[TEXT_MAX])
{
	int length = snprintf(text, TEXT_MAX, "tripdog latched-stop 1\nlatched %s\n", latched ? "on" : "off");
	uint32_t sum = td_crc32(text, (size_t)length);

	length += snprintf(text + length, TEXT_MAX - (size_t)length, "sum %08" PRIx32 "\n", sum);
	return (size_t)length;
}

static bool is_state(const char *bytes, size_t count, bool latched)
{
	char text[TEXT_MAX];

	return state_text(latched, text) == count && memcmp(bytes, text, count) == 0;
}

/* -1 with errno, else the number of bytes; one more than any state has is enough to know it is none. */
static ssize_t read_all(int fd, char bytes[TEXT_MAX])
{
	size_t count = 0;

	while (count < TEXT_MAX) {
		ssize_t got = read(fd, bytes + count, TEXT_MAX - count);

		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return -1;
		if (got == 0)
			break;
		count += (size_t)got;
	}
	return (ssize_t)count;
}

static int read_state(int fd, const char *dir, struct td_state *state, struct td_error *err)
{
	char bytes[TEXT_MAX];
	ssize_t count = read_all(fd, bytes);

	if (count < 0)
		return td_error_set(err,
				    "%s/" TD_STATE_FILE
				    ": %s; the latched stop counts as on; mend the disk, then "
				    "reset as keeper",
				    dir, strerror(errno));
	if (is_state(bytes, (size_t)count, true))
		return 0;
	if (!is_state(bytes, (size_t)count, false))
		return td_error_set(err,
				    "%s/" TD_STATE_FILE
				    ": damaged, or written by another version; the latched stop "
				    "counts as on; reset as keeper, which writes the file anew",
				    dir);
	state->latched = false;
	return 0;
}

static int open_dir(const char *dir, struct td_error *err)
{
	int fd = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

	if (fd < 0)
		td_error_set(err, "%s: %s; the state directory must exist and belong to the daemon's user",
			     dir, strerror(errno));
	return fd;
}

int td_state_load(const char *dir, struct td_state *state, struct td_error *err)
{
	state->latched = true;
	int dir_fd = open_dir(dir, err);

	if (dir_fd < 0)
		return -1;
	int fd = openat(dir_fd, TD_STATE_FILE, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
	int why = errno;

	close(dir_fd);
	if (fd < 0 && why == ENOENT) {
		state->latched = false;
		return 0;
	}
	if (fd < 0)
		return td_error_set(err,
				    "%s/" TD_STATE_FILE ": %s; the latched stop counts as on; make the file "
				    "readable for the daemon's user, or reset as keeper",
				    dir, strerror(why));
	int result = read_state(fd, dir, state, err);

	close(fd);
	return result;
}

static bool write_all(int fd, const char *text, size_t length)
{
	while (length > 0) {
		ssize_t put = write(fd, text, length);

		if (put < 0 && errno == EINTR)
			continue;
		if (put <= 0)
			return false;
		text += put;
		length -= (size_t)put;
	}
	return true;
}

/* The new file, whole and on the disk, beside the old one. */
static bool write_new(int dir_fd, bool latched)
{
	char text[TEXT_MAX];
	size_t length = state_text(latched, text);
	int fd = openat(dir_fd, NEW_FILE, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);

	if (fd < 0)
		return false;
	bool written = write_all(fd, text, length) && fsync(fd) == 0;
	int why = errno;

	if (close(fd) != 0 && written)
		return false;
	errno = why;
	return written;
}

int td_state_save(const char *dir, const struct td_state *state, struct td_error *err)
{
	int dir_fd = open_dir(dir, err);

	if (dir_fd < 0)
		return -1;
	bool saved = write_new(dir_fd, state->latched) &&
		     renameat(dir_fd, NEW_FILE, dir_fd, TD_STATE_FILE) == 0 && fsync(dir_fd) == 0;
	int why = errno;

	close(dir_fd);
	if (saved)
		return 0;
	return td_error_set(err,
			    "%s/" TD_STATE_FILE
			    ": %s; the latched stop is not kept over a restart until this "
			    "file can be written",
			    dir, strerror(why));
}
