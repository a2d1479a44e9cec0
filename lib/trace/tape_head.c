/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/crc.h"
#include "trace/tape_parts.h"

#define FIRST_LINE "tripdog trace "

enum { SUM_LINE_MAX = 16 };

#define AT(member) (uint32_t) offsetof(struct td_core, member)
#define SIZE(type) (uint32_t)sizeof(struct type)

void td_tape_build(char build[TD_TAPE_BUILD_MAX])
{
	/* The first is the order of the bytes. */
	static const uint32_t layout[] = {
		1,
		AT(now_ns),
		AT(armed),
		AT(levels_known),
		AT(latch),
		AT(stop_ns),
		AT(suspect),
		AT(locked),
		AT(resets),
		AT(sw),
		AT(chatter),
		AT(axis),
		AT(duty),
		AT(duty_cut_ns),
		AT(supply),
		AT(wear),
		AT(pace),
		AT(twist),
		AT(twist_ns),
		SIZE(td_core),
		SIZE(td_quota),
		SIZE(td_switch),
		SIZE(td_chatter),
		SIZE(td_axis),
		SIZE(td_hold),
		SIZE(td_duty),
		SIZE(td_budget),
		SIZE(td_supply),
		SIZE(td_supply_axis),
		SIZE(td_wear),
		SIZE(td_pace),
		SIZE(td_trend),
		SIZE(td_twist),
	};

	(void)snprintf(build, TD_TAPE_BUILD_MAX, "%s/%zu/%08" PRIx32, TD_VERSION, sizeof(struct td_core),
		       td_crc32(layout, sizeof(layout)));
}

void td_tape_head_text(char text[TD_TAPE_HEAD_TEXT_MAX], const struct td_tape_opening *opening)
{
	const struct td_tape_head *head = &opening->head;
	char kind[3 * TD_TAPE_KIND_MAX];
	char version[3 * TD_TAPE_VERSION_MAX];
	char wall[3 * TD_TAPE_WALL_MAX];

	td_tape_escape(kind, sizeof(kind), head->kind, strnlen(head->kind, TD_TAPE_KIND_MAX - 1), false);
	td_tape_escape(version, sizeof(version), head->version,
		       strnlen(head->version, TD_TAPE_VERSION_MAX - 1), false);
	td_tape_escape(wall, sizeof(wall), head->wall, strnlen(head->wall, TD_TAPE_WALL_MAX - 1), false);
	int used = snprintf(text, TD_TAPE_HEAD_TEXT_MAX - SUM_LINE_MAX,
			    FIRST_LINE "%d\nkind %s\nversion %s\nwall %s\nconfig_hash %016" PRIx64
				       "\nbegin_ns %" PRId64 "\nfirst_number %" PRIu64 "\nmachine %08" PRIx32
				       "\nbuild %s\nlevels %08" PRIx32 "\noutputs %08" PRIx32 "\n",
			    TD_TAPE_FORMAT, kind, version, wall, head->config_hash, head->begin_ns,
			    head->first_number, head->machine, opening->build, opening->levels,
			    opening->outputs);

	if (used > 0)
		(void)snprintf(text + used, SUM_LINE_MAX, "sum %08" PRIx32 "\n",
			       td_crc32(text, (size_t)used));
}

bool td_tape_is_head(const char *text)
{
	return strncmp(text, FIRST_LINE, strlen(FIRST_LINE)) == 0;
}

/* --- reading ----------------------------------------------------------------------------------------- */

struct lines {
	const char *at;
	bool good;
};

/* The value of the next line, which begins with `key` and a blank; *end is its line end. */
static const char *take_line(struct lines *lines, const char *key, const char **end)
{
	size_t length = strlen(key);
	const char *value = lines->at + length + 1;

	*end = lines->good ? strchr(lines->at, '\n') : NULL;
	if (!*end || strncmp(lines->at, key, length) != 0 || lines->at[length] != ' ') {
		lines->good = false;
		return NULL;
	}
	lines->at = *end + 1;
	return value;
}

static void take_text(struct lines *lines, const char *key, char *text, size_t size)
{
	const char *end;
	const char *value = take_line(lines, key, &end);

	if (value && td_tape_unescape(text, size, value, end) < 0)
		lines->good = false;
}

static uint64_t take_number(struct lines *lines, const char *key, int base, uint64_t max)
{
	const char *end;
	const char *value = take_line(lines, key, &end);
	char *after;

	if (!value || td_tape_digit(*value) < 0) {
		lines->good = false;
		return 0;
	}
	uint64_t number = strtoull(value, &after, base);

	lines->good = after == end && number <= max;
	return number;
}

int td_tape_head_read(const char *text, struct td_tape_opening *opening, struct td_error *err)
{
	struct lines lines = {text, true};
	struct td_tape_head *head = &opening->head;
	uint64_t format = take_number(&lines, "tripdog trace", 10, UINT32_MAX);

	memset(opening, 0, sizeof(*opening));
	if (lines.good && format != TD_TAPE_FORMAT)
		return td_error_set(err,
				    "this recording has format %" PRIu64
				    ", and this program reads format %d; use the version that made it",
				    format, TD_TAPE_FORMAT);
	take_text(&lines, "kind", head->kind, sizeof(head->kind));
	take_text(&lines, "version", head->version, sizeof(head->version));
	take_text(&lines, "wall", head->wall, sizeof(head->wall));
	head->config_hash = take_number(&lines, "config_hash", 16, UINT64_MAX);
	head->begin_ns = (td_ns)take_number(&lines, "begin_ns", 10, TD_NEVER - 1);
	head->first_number = take_number(&lines, "first_number", 10, UINT64_MAX);
	head->machine = (uint32_t)take_number(&lines, "machine", 16, UINT32_MAX);
	take_text(&lines, "build", opening->build, sizeof(opening->build));
	opening->levels = (uint32_t)take_number(&lines, "levels", 16, UINT32_MAX);
	opening->outputs = (uint32_t)take_number(&lines, "outputs", 16, UINT32_MAX);
	uint32_t sum = lines.good ? td_crc32(text, (size_t)(lines.at - text)) : 0;

	if (take_number(&lines, "sum", 16, UINT32_MAX) != sum)
		lines.good = false;
	return lines.good ? 0 : td_error_set(err, "the head of the recording is damaged");
}
