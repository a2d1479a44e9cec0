/* SPDX-License-Identifier: MIT */
#include "tests/support/usage.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { PATH_BYTES = 64, LINE_BYTES = 512 };

static FILE *open_of(pid_t pid, const char *name, const char *mode)
{
	char path[PATH_BYTES];

	(void)snprintf(path, sizeof(path), "/proc/%d/%s", (int)pid, name);
	return fopen(path, mode);
}

/* The number behind `key` at the start of a line; -1: there is none. */
static long number_in(pid_t pid, const char *name, const char *key)
{
	char line[LINE_BYTES];
	size_t length = strlen(key);
	FILE *in = open_of(pid, name, "r");
	long number = -1;

	while (in && number < 0 && fgets(line, sizeof(line), in))
		if (strncmp(line, key, length) == 0)
			number = strtol(line + length, NULL, 10);
	if (in)
		(void)fclose(in);
	return number;
}

/* The 14th and 15th word are user and system time in ticks; the second one, in parentheses, may have blanks. */
static double cpu_s(pid_t pid)
{
	char line[LINE_BYTES] = "";
	FILE *in = open_of(pid, "stat", "r");
	unsigned long user = 0;
	unsigned long system = 0;

	if (!in)
		return 0;
	if (!fgets(line, sizeof(line), in))
		line[0] = '\0';
	(void)fclose(in);
	char *rest = strrchr(line, ')');
	for (int word = 2; rest && word < 14; word++)
		rest = strchr(rest + 1, ' ');
	if (rest) {
		user = strtoul(rest, &rest, 10);
		system = strtoul(rest, NULL, 10);
	}
	return (double)(user + system) / (double)sysconf(_SC_CLK_TCK);
}

static long count_fds(pid_t pid)
{
	char path[PATH_BYTES];
	long count = 0;

	(void)snprintf(path, sizeof(path), "/proc/%d/fd", (int)pid);
	DIR *dir = opendir(path);
	while (dir && readdir(dir))
		count++;
	if (dir)
		(void)closedir(dir);
	return count > 2 ? count - 2 : 0;
}

struct usage usage_of(pid_t pid)
{
	return (struct usage){
		.at_ns = td_clock_now(),
		.cpu_s = cpu_s(pid),
		.wakeups = number_in(pid, "status", "voluntary_ctxt_switches:"),
		.peak_kb = number_in(pid, "status", "VmHWM:"),
		.pss_kb = number_in(pid, "smaps_rollup", "Pss:"),
		.own_kb = number_in(pid, "smaps_rollup", "Anonymous:"),
		.fds = count_fds(pid),
	};
}

void usage_forget_peak(pid_t pid)
{
	FILE *out = open_of(pid, "clear_refs", "w");

	if (!out)
		return;
	(void)fputs("5", out);
	(void)fclose(out);
}
