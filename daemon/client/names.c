/* SPDX-License-Identifier: MIT */
#include "daemon/client/names.h"

#include <string.h>

#include "config/nearest.h"
#include "core/limits.h"
#include "daemon/client/cli.h"

/* ": did you mean boom?", or "" where no name in the list is near. */
static void guess_name(const json_t *named, const char *word, char *text, size_t size)
{
	struct td_nearest nearest = td_nearest_to(word);
	size_t i = 0;
	const json_t *entry = NULL;

	json_array_foreach(named, i, entry)
	{
		const char *name = json_string_value(json_object_get(entry, "name"));

		if (name)
			td_nearest_offer(&nearest, name);
	}
	text[0] = '\0';
	if (nearest.best)
		(void)snprintf(text, size, ": did you mean %s?", nearest.best);
}

static const json_t *find_named(const json_t *list, const char *name)
{
	size_t i = 0;
	const json_t *entry = NULL;

	json_array_foreach(list, i, entry)
	{
		const char *other = json_string_value(json_object_get(entry, "name"));

		if (other && strcmp(other, name) == 0)
			return entry;
	}
	return NULL;
}

enum td_exit td_names_check(const json_t *describe, const char *axis, const char *way)
{
	const json_t *axes = json_object_get(describe, "axes");
	const json_t *found = find_named(axes, axis);
	const json_t *ways = json_object_get(found, "ways");
	char guess[96];

	if (found && find_named(ways, way))
		return TD_EXIT_DONE;
	guess_name(found ? ways : axes, found ? way : axis, guess, sizeof(guess));
	if (!found)
		td_cli_complain("there is no axis \"%s\"%s; tripdog describe lists them", axis, guess);
	else
		td_cli_complain("%s has no way \"%s\"%s; its ways are %s and %s", axis, way, guess,
				json_string_value(json_object_get(json_array_get(ways, 0), "name")),
				json_string_value(json_object_get(json_array_get(ways, 1), "name")));
	return TD_EXIT_USAGE;
}

enum td_exit td_lease_read(const json_t *describe, td_ns *lease_ns)
{
	const json_t *lease = json_object_get(describe, "lease");

	*lease_ns = TD_MS(json_integer_value(json_object_get(lease, "default_ms")));
	if (*lease_ns >= TD_LEASE_MIN_NS && *lease_ns <= TD_LEASE_MAX_NS)
		return TD_EXIT_DONE;
	td_cli_complain("the daemon tells no lease that can be held; are both of the same version?");
	return TD_EXIT_INTERNAL;
}
