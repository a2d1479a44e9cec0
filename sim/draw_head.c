/* SPDX-License-Identifier: MIT */
#include "sim/draw_head.h"

#include <stdio.h>
#include <string.h>

#include "trace/tape_parts.h"
#include "trace/wall.h"

/* "2026-11-25T02:13:45.000Z" as people write it. */
static void clock_words(const char *wall, char *out, size_t size)
{
	(void)snprintf(out, size, "%.*s UTC", (int)strcspn(wall, "Z"), wall);
	out[strcspn(out, "T")] = ' ';
}

void td_draw_head(struct td_drawing *drawing, const struct td_trace_view *view, const char *text)
{
	struct td_tape_opening opening;
	struct td_error err;
	char clock[TD_TAPE_WALL_MAX + 8] = "not known by the wall clock";
	char words[256];

	if (!td_tape_is_head(text) || td_tape_head_read(text, &opening, &err) != 0)
		return;
	int64_t wall_ns = td_wall_parse(opening.head.wall);

	td_drawing_clock(drawing, wall_ns);
	if (view->description)
		return;
	if (wall_ns > 0)
		clock_words(opening.head.wall, clock, sizeof(clock));
	(void)snprintf(words, sizeof(words), "Recorded by tripdog %s (%s). Time 0 is %s%s.",
		       opening.head.version, opening.head.kind, clock,
		       wall_ns > 0 ? "; times of day below are UTC, too" : "");
	td_drawing_describe(drawing, words);
}
