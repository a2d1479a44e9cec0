/* SPDX-License-Identifier: MIT */
#include "tests/support/outside.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MISSING = 127 };

static char directory[] = "/tmp/tripdog-test-XXXXXX";

int outside_make(void **state)
{
	(void)state;
	return mkdtemp(directory) ? 0 : -1;
}

int outside_remove(void **state)
{
	DIR *listing = opendir(directory);

	(void)state;
	if (!listing)
		return -1;
	for (struct dirent *entry = readdir(listing); entry; entry = readdir(listing))
		if (entry->d_name[0] != '.')
			(void)unlink(outside_path(entry->d_name));
	(void)closedir(listing);
	return rmdir(directory);
}

const char *outside_path(const char *name)
{
	static char path[sizeof(directory) + 257];

	(void)snprintf(path, sizeof(path), "%s/%.255s", directory, name);
	return path;
}

static void become(const char *const arguments[])
{
	int said = open(outside_path("said"), O_WRONLY | O_CREAT | O_TRUNC, 0600);

	if (said < 0 || dup2(said, STDOUT_FILENO) < 0 || dup2(said, STDERR_FILENO) < 0 ||
	    chdir(directory) < 0)
		_exit(1);
	/* execvp promises to leave the strings alone; its type is older than const */
	union {
		const char *const *ours;
		char *const *theirs;
	} list = {.ours = arguments};
	(void)execvp(arguments[0], list.theirs);
	_exit(MISSING);
}

int outside_run(const char *const arguments[])
{
	pid_t child = fork();
	int status;

	assert_true(child >= 0);
	if (child == 0)
		become(arguments);
	assert_int_equal(waitpid(child, &status, 0), child);
	if (!WIFEXITED(status))
		return -1;
	if (WEXITSTATUS(status) == MISSING)
		fail_msg("%s is missing; .ci/packages installs it", arguments[0]);
	return WEXITSTATUS(status);
}

char *outside_bytes(const char *name, size_t *length)
{
	FILE *file = fopen(outside_path(name), "rb");
	struct stat about;

	assert_non_null(file);
	assert_int_equal(fstat(fileno(file), &about), 0);
	size_t size = (size_t)about.st_size;
	char *bytes = malloc(size + 1);
	assert_non_null(bytes);
	assert_int_equal(fread(bytes, 1, size, file), size);
	bytes[size] = '\0';
	(void)fclose(file);
	if (length)
		*length = size;
	return bytes;
}

FILE *outside_reader(const void *bytes, size_t length)
{
	FILE *file = tmpfile();

	assert_non_null(file);
	assert_int_equal(fwrite(bytes, 1, length, file), length);
	rewind(file);
	return file;
}

void outside_write(const char *name, const void *bytes, size_t length)
{
	FILE *file = fopen(outside_path(name), "wb");

	assert_non_null(file);
	assert_int_equal(fwrite(bytes, 1, length, file), length);
	assert_int_equal(fclose(file), 0);
}
