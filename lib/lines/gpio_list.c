/* SPDX-License-Identifier: MIT */
/* Which GPIO chips there are. */
#include "lines/gpio_chip.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char prefix[] = "gpiochip";

static int is_chip(const struct dirent *entry)
{
	return strncmp(entry->d_name, prefix, sizeof(prefix) - 1) == 0;
}

/* Some systems link old chip names to new ones; a chip must not count twice. */
static bool is_device(const char *path)
{
	struct stat what;

	return lstat(path, &what) == 0 && S_ISCHR(what.st_mode);
}

size_t td_gpio_chip_paths(char paths[TD_GPIO_CHIPS_MAX][TD_GPIO_PATH_MAX])
{
	struct dirent **entries = NULL;
	int found = scandir("/dev", &entries, is_chip, versionsort);
	size_t count = 0;

	for (int i = 0; i < found; i++) {
		char path[sizeof("/dev/") + sizeof(entries[i]->d_name)];

		(void)snprintf(path, sizeof(path), "/dev/%s", entries[i]->d_name);
		if (count < TD_GPIO_CHIPS_MAX && strlen(path) < TD_GPIO_PATH_MAX && is_device(path))
			memcpy(paths[count++], path, strlen(path) + 1);
		free(entries[i]);
	}
	free(entries);
	return count;
}
