/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/support/stage.h"

/* The kernel lists children in the order they were made: guard, scribe, front. */
static pid_t child(const struct stage *stage, int index)
{
	char path[64];
	char line[128] = "";
	char *rest = line;
	pid_t pid = 0;

	snprintf(path, sizeof(path), "/proc/%d/task/%d/children", (int)stage->daemon, (int)stage->daemon);
	FILE *in = fopen(path, "r");

	if (!in || !fgets(line, sizeof(line), in))
		fail_msg("cannot find the children of the daemon");
	fclose(in);
	for (int i = 0; i <= index; i++)
		pid = (pid_t)strtol(rest, &rest, 10);
	if (pid <= 0)
		fail_msg("the daemon has no child %d", index);
	return pid;
}

pid_t stage_guard(const struct stage *stage)
{
	return child(stage, 0);
}

pid_t stage_scribe(const struct stage *stage)
{
	return child(stage, 1);
}

pid_t stage_front(const struct stage *stage)
{
	return child(stage, 2);
}
