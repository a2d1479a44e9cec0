/* SPDX-License-Identifier: MIT */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/scenario.h"

struct list {
	struct scenario *item;
	size_t count;
};

static char *read_file(const char *path)
{
	FILE *file = fopen(path, "r");

	if (!file) {
		fprintf(stderr, "%s: %s\n", path, strerror(errno));
		exit(1);
	}
	size_t size = 0;
	char *text = NULL;
	FILE *memory = open_memstream(&text, &size);

	for (int c = fgetc(file); c != EOF; c = fgetc(file))
		fputc(c, memory);
	fclose(memory);
	fclose(file);
	return text;
}

static void add(struct list *list, const char *file, const char *name, int line)
{
	list->item = realloc(list->item, (list->count + 1) * sizeof(*list->item));
	list->item[list->count++] = (struct scenario){strdup(file), strdup(name), strdup(""), line};
}

static void append(struct scenario *scenario, const char *line)
{
	size_t length = strlen(scenario->text) + strlen(line) + 2;
	char *longer = malloc(length);

	snprintf(longer, length, "%s%s\n", scenario->text, line);
	free(scenario->text);
	scenario->text = longer;
}

static void split(struct list *list, const char *path)
{
	char *text = read_file(path);
	char *rest = text;
	int number = 0;

	for (char *line = strsep(&rest, "\n"); line; line = strsep(&rest, "\n")) {
		number++;
		if (strncmp(line, "== ", 3) == 0)
			add(list, path, line + 3, number + 1);
		else if (list->count > 0 && strcmp(list->item[list->count - 1].file, path) == 0)
			append(&list->item[list->count - 1], line);
	}
	free(text);
}

static int is_text(const struct dirent *entry)
{
	const char *dot = strrchr(entry->d_name, '.');

	return dot && strcmp(dot, ".txt") == 0;
}

struct scenario *scenario_load(const char *folder, size_t *count)
{
	struct dirent **entry = NULL;
	struct list list = {NULL, 0};
	int files = scandir(folder, &entry, is_text, alphasort);

	for (int i = 0; i < files; i++) {
		char path[512];

		snprintf(path, sizeof(path), "%s/%s", folder, entry[i]->d_name);
		split(&list, path);
		free(entry[i]);
	}
	free(entry);
	*count = list.count;
	return list.item;
}
