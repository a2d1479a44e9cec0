/* SPDX-License-Identifier: MIT */
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
#include <unistd.h>

#include "tests/support/vault.h"

#define BEGIN_NS TD_S(1000)

static char names[VAULT_FILES_MAX][TD_FILES_NAME_MAX];

static void listen_to_stderr(struct vault *vault)
{
	char path[80];

	(void)snprintf(path, sizeof(path), "%s/said", vault->root);
	vault->said_fd = open(path, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
	vault->stderr_fd = dup(STDERR_FILENO);
	assert_true(vault->said_fd >= 0 && vault->stderr_fd >= 0);
	assert_int_equal(unlink(path), 0);
	assert_true(dup2(vault->said_fd, STDERR_FILENO) >= 0);
}

void vault_begin(struct vault *vault)
{
	memset(vault, 0, sizeof(*vault));
	(void)snprintf(vault->root, sizeof(vault->root), "/tmp/tripdog-archive-XXXXXX");
	assert_non_null(mkdtemp(vault->root));
	(void)snprintf(vault->dir, sizeof(vault->dir), "%s/traces", vault->root);
	recorder_wall_add_s = 0;
	recorder_start(&vault->rec, BEGIN_NS);
	vault->setup = recorder_setup(&vault->rec, vault->dir);
	test_disk_init(&vault->disk);
	listen_to_stderr(vault);
}

void vault_open(struct vault *vault)
{
	struct td_error err;

	vault->rec.archive = td_archive_open(&vault->setup, &vault->disk.disk, vault->rec.now_ns, &err);
	assert_non_null(vault->rec.archive);
}

void vault_close(struct vault *vault)
{
	td_archive_close(vault->rec.archive, vault->rec.now_ns);
	vault->rec.archive = NULL;
	assert_int_equal(vault->disk.open, 0);
}

void vault_restart(struct vault *vault)
{
	vault_close(vault);
	recorder_start(&vault->rec, vault->rec.now_ns + TD_S(10));
}

void vault_end(struct vault *vault)
{
	vault_close(vault);
	(void)dup2(vault->stderr_fd, STDERR_FILENO);
	(void)close(vault->stderr_fd);
	(void)close(vault->said_fd);
	unsigned int count = vault_list(vault, "", names);

	for (unsigned int i = 0; i < count; i++)
		(void)unlink(vault_path(vault, names[i]));
	(void)rmdir(vault->dir);
	(void)unlink(vault->dir);
	assert_int_equal(rmdir(vault->root), 0);
}

const char *vault_said(struct vault *vault)
{
	static char said[VAULT_SAID_MAX];
	ssize_t count = pread(vault->said_fd, said, sizeof(said) - 1, 0);

	assert_true(count >= 0);
	said[count] = '\0';
	assert_int_equal(ftruncate(vault->said_fd, 0), 0);
	return said;
}

unsigned int vault_count(const char *said, const char *text)
{
	unsigned int count = 0;

	for (const char *at = strstr(said, text); at; at = strstr(at + 1, text))
		count++;
	return count;
}

static int by_name(const void *a, const void *b)
{
	return strcmp(a, b);
}

unsigned int vault_list(const struct vault *vault, const char *prefix,
			char list[VAULT_FILES_MAX][TD_FILES_NAME_MAX])
{
	DIR *dir = opendir(vault->dir);
	unsigned int count = 0;

	if (!dir)
		return 0;
	for (struct dirent *next = readdir(dir); next; next = readdir(dir)) {
		if (next->d_name[0] == '.' || strncmp(next->d_name, prefix, strlen(prefix)) != 0)
			continue;
		assert_true(count < VAULT_FILES_MAX && strlen(next->d_name) < TD_FILES_NAME_MAX);
		(void)snprintf(list[count++], TD_FILES_NAME_MAX, "%.*s", TD_FILES_NAME_MAX - 1, next->d_name);
	}
	closedir(dir);
	qsort(list, count, TD_FILES_NAME_MAX, by_name);
	return count;
}

const char *vault_path(const struct vault *vault, const char *name)
{
	static char path[sizeof(vault->dir) + TD_FILES_NAME_MAX];

	(void)snprintf(path, sizeof(path), "%s/%.127s", vault->dir, name);
	return path;
}

int64_t vault_bytes(const struct vault *vault, const char *prefix)
{
	unsigned int count = vault_list(vault, prefix, names);
	int64_t bytes = 0;
	struct stat file;

	for (unsigned int i = 0; i < count; i++)
		if (stat(vault_path(vault, names[i]), &file) == 0)
			bytes += file.st_size;
	return bytes;
}

void vault_put(const struct vault *vault, const char *name, size_t bytes)
{
	FILE *out = fopen(vault_path(vault, name), "w");

	assert_non_null(out);
	for (size_t i = 0; i < bytes; i++)
		(void)fputc('x', out);
	assert_int_equal(fclose(out), 0);
}

struct recorder_file vault_play(const struct vault *vault, const char *name)
{
	struct recorder_file file = recorder_play(vault_path(vault, name));

	if (file.result != TD_TAPE_READ)
		fail_msg("%s: %s", name, file.err.text);
	if (file.different > 0)
		fail_msg("%s: the core does something else", name);
	return file;
}

unsigned int vault_play_all(const struct vault *vault)
{
	static char all[VAULT_FILES_MAX][TD_FILES_NAME_MAX];
	unsigned int count = vault_list(vault, "", all);

	for (unsigned int i = 0; i < count; i++)
		(void)vault_play(vault, all[i]);
	return count;
}
