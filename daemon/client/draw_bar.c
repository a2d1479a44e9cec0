/* SPDX-License-Identifier: MIT */
#include "daemon/client/draw_bar.h"

static enum td_glyph end_glyph(const struct td_view_axis *axis, int way)
{
	if (!axis->fitted[way])
		return TD_GLYPH_END_NONE;
	return axis->at_end[way] ? TD_GLYPH_END_ACTIVE : TD_GLYPH_END_CLEAR;
}

static enum td_glyph here_glyph(const struct td_view_axis *axis)
{
	if (axis->way == TD_NO_WAY)
		return TD_GLYPH_HERE;
	return axis->way == 0 ? TD_GLYPH_TO_FIRST : TD_GLYPH_TO_SECOND;
}

static void draw_known(struct td_pen *pen, const struct td_view_axis *axis, size_t track)
{
	size_t at = ((size_t)axis->position_ppm * (track - 1) + 500000) / 1000000;

	td_pen_repeat(pen, TD_GLYPH_TRACK, at);
	td_pen_glyph(pen, here_glyph(axis));
	td_pen_repeat(pen, TD_GLYPH_TRACK, track - 1 - at);
}

static void draw_unknown(struct td_pen *pen, size_t track)
{
	const char *text = track >= 11 ? " unknown " : "?";
	size_t columns = td_pen_columns(text);
	size_t before = (track - columns) / 2;

	td_pen_repeat(pen, TD_GLYPH_TRACK, before);
	td_pen_text(pen, text);
	td_pen_repeat(pen, TD_GLYPH_TRACK, track - columns - before);
}

void td_draw_bar(struct td_pen *pen, const struct td_view_axis *axis, size_t columns)
{
	size_t track = columns < 3 ? 1 : columns - 2;

	td_pen_glyph(pen, end_glyph(axis, 0));
	if (axis->position_ppm >= 0)
		draw_known(pen, axis, track);
	else
		draw_unknown(pen, track);
	td_pen_glyph(pen, end_glyph(axis, 1));
}
