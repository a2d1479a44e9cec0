/* SPDX-License-Identifier: MIT */
/* tripdog describe: what there is, in words. */
#include <inttypes.h>
#include <string.h>

#include "daemon/client/cli.h"

enum { INDENT = 2, NAME_COLUMNS = 18 };

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "";
}

static void heading(struct td_pen *pen, const char *text)
{
	td_pen_newline(pen);
	td_pen_ink(pen, TD_INK_STRONG);
	td_pen_text(pen, text);
	td_pen_newline(pen);
}

static void item(struct td_pen *pen, const char *name, const char *text)
{
	size_t columns = td_pen_columns(name);

	td_pen_blanks(pen, INDENT);
	td_pen_field(pen, name, columns < NAME_COLUMNS ? NAME_COLUMNS : columns + 1);
	td_pen_fold(pen, text, INDENT + NAME_COLUMNS);
	td_pen_newline(pen);
}

static void describe_axes(struct td_pen *pen, const json_t *axes)
{
	size_t i = 0;
	const json_t *axis = NULL;

	heading(pen, "axes");
	json_array_foreach(axes, i, axis)
	{
		const json_t *ways = json_object_get(axis, "ways");
		char text[256] = "";
		size_t used = 0;

		for (size_t way = 0; way < json_array_size(ways) && used < sizeof(text); way++) {
			const json_t *one = json_array_get(ways, way);
			const char *end = text_of(one, "end_switch");

			used += (size_t)snprintf(text + used, sizeof(text) - used, "%s%s (%s%s)",
						 way ? ", " : "", text_of(one, "name"),
						 end[0] ? "end switch " : "no end switch", end);
		}
		item(pen, text_of(axis, "name"), text);
	}
}

static void describe_list(struct td_pen *pen, const char *title, const json_t *list, const char *key)
{
	size_t i = 0;
	const json_t *entry = NULL;

	if (json_array_size(list) == 0)
		return;
	heading(pen, title);
	json_array_foreach(list, i, entry)
	{
		item(pen, text_of(entry, "name"), text_of(entry, key));
	}
}

/* "axis, way, lease_ms (50 to 1500, optional)": of a name its length says nothing to a person. */
static void describe_params(struct td_pen *pen, const json_t *params)
{
	size_t i = 0;
	const json_t *param = NULL;
	char text[512] = "with ";
	size_t used = strlen(text);

	json_array_foreach(params, i, param)
	{
		bool number = strcmp(text_of(param, "type"), "number") == 0;
		bool optional = !json_is_true(json_object_get(param, "required"));
		char range[64] = "";

		if (number)
			(void)snprintf(range, sizeof(range),
				       "%" JSON_INTEGER_FORMAT " to %" JSON_INTEGER_FORMAT "%s",
				       json_integer_value(json_object_get(param, "min")),
				       json_integer_value(json_object_get(param, "max")),
				       optional ? ", " : "");
		if (used < sizeof(text))
			used += (size_t)snprintf(text + used, sizeof(text) - used, "%s%s%s%s%s%s",
						 i ? ", " : "", text_of(param, "name"),
						 number || optional ? " (" : "", range,
						 optional ? "optional" : "", number || optional ? ")" : "");
	}
	item(pen, "", text);
}

static void describe_methods(struct td_pen *pen, const json_t *methods)
{
	size_t i = 0;
	const json_t *method = NULL;

	heading(pen, "methods");
	json_array_foreach(methods, i, method)
	{
		const json_t *params = json_object_get(method, "params");

		item(pen, text_of(method, "name"), text_of(method, "help"));
		if (json_array_size(params) > 0)
			describe_params(pen, params);
	}
}

static void describe_cautions(struct td_pen *pen, const json_t *cautions)
{
	size_t i = 0;
	const json_t *caution = NULL;

	heading(pen, "cautions");
	json_array_foreach(cautions, i, caution)
	{
		td_pen_text(pen, "  ! ");
		td_pen_fold(pen, json_is_string(caution) ? json_string_value(caution) : "", INDENT + 2);
		td_pen_newline(pen);
	}
}

static void describe_lease(struct td_pen *pen, const json_t *lease)
{
	char text[128];

	(void)snprintf(text, sizeof(text),
		       "%" JSON_INTEGER_FORMAT " ms unless a request says otherwise (%" JSON_INTEGER_FORMAT
		       " to %" JSON_INTEGER_FORMAT " ms)",
		       json_integer_value(json_object_get(lease, "default_ms")),
		       json_integer_value(json_object_get(lease, "min_ms")),
		       json_integer_value(json_object_get(lease, "max_ms")));
	heading(pen, "how long a request lasts");
	item(pen, "lease", text);
}

/* R11; an older daemon says nothing of it. */
static void describe_resets(struct td_pen *pen, const json_t *limits)
{
	const json_t *resets = json_object_get(limits, "visitor_resets_per_hour");
	char text[96];

	if (!json_is_integer(resets))
		return;
	(void)snprintf(text, sizeof(text),
		       "%" JSON_INTEGER_FORMAT " in any hour, of trips that are not the keeper's",
		       json_integer_value(resets));
	heading(pen, "who resets");
	item(pen, "visitors", text);
	item(pen, "keeper", "every trip, locked ways and the latched stop");
}

static void describe_cable(struct td_pen *pen, const json_t *twist)
{
	const json_t *ahead = json_object_get(twist, "ahead");
	const json_t *left = json_object_get(twist, "left");
	char text[256];

	if (!json_is_object(twist))
		return;
	(void)snprintf(
		text, sizeof(text),
		"%" JSON_INTEGER_FORMAT " degrees to either side, by %s; %s %s is ahead, %s %s is left",
		json_integer_value(json_object_get(twist, "limit_degrees")), text_of(twist, "source"),
		text_of(ahead, "axis"), text_of(ahead, "way"), text_of(left, "axis"), text_of(left, "way"));
	heading(pen, "how far the cable may be twisted");
	item(pen, "limit", text);
}

static void describe(struct td_pen *pen, const json_t *answer)
{
	td_pen_ink(pen, TD_INK_STRONG);
	td_pen_text(pen, text_of(answer, "machine"));
	td_pen_text(pen, ", tripdogd ");
	td_pen_text(pen, text_of(answer, "version"));
	td_pen_text(pen, ", connected as ");
	td_pen_text(pen, text_of(answer, "role"));
	td_pen_newline(pen);
	describe_axes(pen, json_object_get(answer, "axes"));
	describe_list(pen, "switches", json_object_get(answer, "switches"), "contact");
	describe_lease(pen, json_object_get(answer, "lease"));
	describe_resets(pen, json_object_get(answer, "limits"));
	describe_cable(pen, json_object_get(answer, "twist"));
	describe_methods(pen, json_object_get(answer, "methods"));
	describe_cautions(pen, json_object_get(answer, "cautions"));
}

static void print_names(const json_t *axes)
{
	size_t i = 0;
	const json_t *axis = NULL;

	json_array_foreach(axes, i, axis)
	{
		const json_t *ways = json_object_get(axis, "ways");

		(void)printf("%s", text_of(axis, "name"));
		for (size_t way = 0; way < json_array_size(ways); way++)
			(void)printf(" %s", text_of(json_array_get(ways, way), "name"));
		(void)putchar('\n');
	}
}

enum td_exit td_cmd_describe(struct td_cli *cli, int count, char **args)
{
	json_t *answer = NULL;
	enum td_exit code = td_cli_open(cli);

	(void)count;
	(void)args;
	if (code == TD_EXIT_DONE)
		code = td_cli_call(cli, "describe", NULL, &answer);
	if (code == TD_EXIT_DONE && cli->options.given[TD_OPTION_JSON])
		td_cli_print_json(answer);
	else if (code == TD_EXIT_DONE && cli->options.given[TD_OPTION_NAMES])
		print_names(json_object_get(answer, "axes"));
	else if (code == TD_EXIT_DONE)
		describe(&cli->pen, answer);
	json_decref(answer);
	return code;
}
