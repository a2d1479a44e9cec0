/* SPDX-License-Identifier: MIT */
#include "sim/replay/settings.h"

#include <ini.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* More than any configuration has keys. */
enum { SETTINGS_MAX = 2048, TEXT_MAX = 80 };

struct setting {
	char section[TEXT_MAX];
	char key[TEXT_MAX];
	char value[TEXT_MAX];
};

struct settings {
	size_t count;
	struct setting setting[SETTINGS_MAX];
};

static void copy(char text[TEXT_MAX], const char *from)
{
	(void)snprintf(text, TEXT_MAX, "%s", from ? from : "");
}

/* inih's callback; 0 would stop it. */
static int take(void *user, const char *section, const char *key, const char *value)
{
	struct settings *settings = user;

	if (settings->count == SETTINGS_MAX)
		return 0;
	struct setting *setting = &settings->setting[settings->count++];

	copy(setting->section, section);
	copy(setting->key, key);
	copy(setting->value, value);
	return 1;
}

/* NULL: it has no such key. */
static const char *value_in(const struct settings *settings, const struct setting *wanted)
{
	for (size_t i = 0; i < settings->count; i++) {
		const struct setting *setting = &settings->setting[i];

		if (strcmp(setting->section, wanted->section) == 0 && strcmp(setting->key, wanted->key) == 0)
			return setting->value;
	}
	return NULL;
}

static void tell_one(FILE *out, const struct setting *setting, const char *given, const char *of_trace)
{
	(void)fprintf(out, "    [%s] %s: %s; in the trace %s\n", setting->section, setting->key,
		      given ? given : "not given", of_trace ? of_trace : "not given");
}

/* Those of `all` that `other` has not as they are; with `only_missing` those that it has not at all. How many. */
static size_t tell(FILE *out, const struct settings *all, const struct settings *other, bool only_missing,
		   size_t told)
{
	for (size_t i = 0; i < all->count; i++) {
		const struct setting *setting = &all->setting[i];
		const char *value = value_in(other, setting);

		if (value && (only_missing || strcmp(value, setting->value) == 0))
			continue;
		if (told++ >= TD_SETTINGS_TOLD_MAX)
			continue;
		if (only_missing)
			tell_one(out, setting, NULL, setting->value);
		else
			tell_one(out, setting, setting->value, value);
	}
	return told;
}

void td_settings_tell(FILE *out, const char *given, const char *of_trace)
{
	struct settings *both = calloc(2, sizeof(*both));

	if (!both)
		return;
	(void)ini_parse_string(given, take, &both[0]);
	(void)ini_parse_string(of_trace, take, &both[1]);
	size_t told = tell(out, &both[0], &both[1], false, 0);

	told = tell(out, &both[1], &both[0], true, told);
	if (told > TD_SETTINGS_TOLD_MAX)
		(void)fprintf(out, "    and %zu more\n", told - TD_SETTINGS_TOLD_MAX);
	free(both);
}
