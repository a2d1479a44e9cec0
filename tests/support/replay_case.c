/* SPDX-License-Identifier: MIT */
#include "tests/support/replay_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct replayed replay_bytes(const char *trace, size_t length, const struct td_config *config,
			     bool from_record)
{
	struct replayed replayed = {0};
	const struct td_replay_order order = {
		.shown_as = "trace",
		.config = config,
		.config_path = config ? "other.conf" : NULL,
		.from_record = from_record,
	};
	size_t told = 0;
	char *copy = malloc(length + 1); /* so that reading past the end is noticed */
	FILE *out = open_memstream(&replayed.told, &told);

	memcpy(copy, trace, length);
	FILE *in = fmemopen(copy, length > 0 ? length : 1, "r");

	if (!in || !out)
		fail_msg("no memory");
	replayed.verdict = td_replay_file(in, &order, out, &replayed.err);
	fclose(in);
	fclose(out);
	free(copy);
	return replayed;
}

char *replay_edit(const char *text, const char *section, const char *key, const char *value)
{
	char wanted[64];
	char *edited = NULL;
	size_t size = 0;
	const char *from = strstr(text, section);
	const char *end = from ? strstr(from, "\n[") : NULL;

	snprintf(wanted, sizeof(wanted), "\n%s = ", key);
	const char *line = from ? strstr(from, wanted) : NULL;

	if (!line || (end && line > end)) {
		fail_msg("no %s in %s", key, section);
		return NULL;
	}
	FILE *out = open_memstream(&edited, &size);

	fprintf(out, "%.*s\n", (int)(line - text), text);
	if (value)
		fprintf(out, "%s = %s\n", key, value);
	fprintf(out, "%s", strchr(line + 1, '\n') + 1);
	fclose(out);
	return edited;
}

const struct scenario *replay_scenario(const char *name)
{
	static struct scenario *all;
	static size_t count;

	if (!all)
		all = scenario_load("tests/unit/rules", &count);
	for (size_t i = 0; i < count; i++)
		if (strcmp(all[i].name, name) == 0)
			return &all[i];
	fail_msg("there is no scenario \"%s\"", name);
	return NULL;
}
