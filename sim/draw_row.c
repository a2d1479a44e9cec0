/* SPDX-License-Identifier: MIT */
/* One row of a drawing. */
#include <string.h>

#include "sim/draw_sheet.h"
#include "sim/draw_text.h"

/* Closer changes than this cannot be told apart; they become one block. */
#define DENSE 0.5
/* Nothing that happened is drawn narrower than this. */
#define LEAST 1.2

const char *td_sheet_fill(enum td_look look)
{
	switch (look) {
	case TD_LOOK_SOLID: return "fill=\"" TD_POWER "\" stroke=\"" TD_INK "\"";
	case TD_LOOK_SLANTED: return "fill=\"url(#td-slanted)\" stroke=\"" TD_INK "\"";
	case TD_LOOK_DOTTED: return "fill=\"url(#td-dotted)\" stroke=\"" TD_INK "\" stroke-dasharray=\"2 2\"";
	case TD_LOOK_CROSSED: return "fill=\"url(#td-crossed)\" stroke=\"" TD_GRAVE "\" stroke-width=\"2\"";
	case TD_LOOK_PLAIN:
	case TD_LOOK_LINE:
	case TD_LOOKS: break;
	}
	return "fill=\"#fff\" stroke=\"" TD_INK "\"";
}

void td_sheet_name(const struct td_sheet *sheet, const char *name, double y)
{
	size_t bytes = td_draw_fit(name, sheet->left - TD_SHEET_EDGE - 10, TD_SHEET_FONT);

	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">", sheet->left - 8, y + 4);
	td_draw_escape(sheet->out, name, bytes);
	(void)fputs(name[bytes] ? "\xe2\x80\xa6</text>\n" : "</text>\n", sheet->out);
}

static void write_heading(const struct td_sheet *sheet, const char *name, double y)
{
	size_t bytes = td_draw_fit(name, TD_SHEET_WIDTH / 2.0, TD_SHEET_FONT);

	(void)fprintf(sheet->out, "<text x=\"%d\" y=\"%.1f\" font-weight=\"bold\">", TD_SHEET_EDGE, y + 4);
	td_draw_escape(sheet->out, name, bytes);
	double after = TD_SHEET_EDGE + 8 + td_draw_width(td_draw_length(name, bytes), TD_SHEET_FONT + 1);
	(void)fprintf(sheet->out,
		      "</text>\n<path d=\"M%.1f %.1fH%.1f\" stroke=\"" TD_FAINT "\" stroke-width=\"1.5\"/>\n",
		      after > sheet->left ? after : sheet->left, y, sheet->right);
}

/* --- levels --------------------------------------------------------------------------------------- */

/* A stretch of a level row as it will be seen. */
struct stretch {
	double x;
	double end;
	enum td_level level;
	bool dense; /* more changes than can be shown */
};

static double end_of(const struct td_sheet *sheet, const struct td_row *row, size_t piece)
{
	return piece + 1 < row->pieces ? td_sheet_x(sheet, row->piece[piece + 1].from_ns) : sheet->right;
}

/* The next stretch from *piece on, which is moved past it. */
static struct stretch next_stretch(const struct td_sheet *sheet, const struct td_row *row, size_t *piece)
{
	size_t at = *piece;
	struct stretch found = {
		.x = td_sheet_x(sheet, row->piece[at].from_ns),
		.end = end_of(sheet, row, at),
		.level = (enum td_level)row->piece[at].what,
	};

	/* a single short pulse keeps its shape; only a flock of changes becomes a block */
	for (at++; found.end - found.x < DENSE && at < row->pieces; at++) {
		if (end_of(sheet, row, at) - td_sheet_x(sheet, row->piece[at].from_ns) >= DENSE)
			break;
		found.end = end_of(sheet, row, at);
		found.dense = true;
	}
	while (found.dense && at < row->pieces &&
	       end_of(sheet, row, at) - td_sheet_x(sheet, row->piece[at].from_ns) < DENSE)
		found.end = end_of(sheet, row, at++);
	*piece = at;
	return found;
}

static void write_box(const struct td_sheet *sheet, const struct stretch *stretch, double y, const char *fill)
{
	double width = stretch->end - stretch->x;

	(void)fprintf(sheet->out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%d\" %s/>\n",
		      stretch->x, y - TD_SHEET_WAVE / 2.0, width < LEAST ? LEAST : width, TD_SHEET_WAVE,
		      fill);
}

static void write_unknown(const struct td_sheet *sheet, const struct stretch *stretch, double y)
{
	write_box(sheet, stretch, y, "fill=\"url(#td-unknown)\"");
	if (stretch->end - stretch->x > 16)
		(void)fprintf(sheet->out,
			      "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" class=\"td-on\">?</text>\n",
			      (stretch->x + stretch->end) / 2, y + 4);
}

/* What the level means, where the row tells that apart from the level itself. */
static void write_hatches(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	for (size_t i = 0; i < row->hatches; i++) {
		struct stretch stretch = {.x = td_sheet_x(sheet, row->hatch[i].from_ns),
					  .end = td_sheet_x(sheet, row->hatch[i].to_ns)};

		if (row->hatch[i].to_ns > sheet->from_ns && row->hatch[i].from_ns < sheet->to_ns)
			write_box(sheet, &stretch, y, "fill=\"url(#td-hatched)\"");
	}
}

/* Boxes first, then one line through all levels. */
static void write_boxes(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	for (size_t piece = 0; piece < row->pieces;) {
		struct stretch stretch = next_stretch(sheet, row, &piece);

		if (stretch.end <= sheet->left && piece < row->pieces)
			continue;
		if (stretch.dense)
			write_box(sheet, &stretch, y, "fill=\"" TD_DIM "\"");
		else if (stretch.level == TD_LEVEL_UNKNOWN)
			write_unknown(sheet, &stretch, y);
		else if (stretch.level == TD_LEVEL_HIGH && !row->hatched)
			write_box(sheet, &stretch, y,
				  row->kind == TD_ROW_OUTPUT ? "fill=\"" TD_POWER "\""
							     : "fill=\"" TD_WASH "\"");
	}
}

static void write_line(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	double last_y = -1;
	double last_end = -1;

	(void)fputs("<path class=\"td-wave\" d=\"", sheet->out);
	for (size_t piece = 0; piece < row->pieces;) {
		struct stretch stretch = next_stretch(sheet, row, &piece);
		double level_y = y + (stretch.level == TD_LEVEL_HIGH ? -TD_SHEET_WAVE : TD_SHEET_WAVE) / 2.0;

		if (stretch.end <= sheet->left && piece < row->pieces)
			continue;
		if (stretch.dense || stretch.level == TD_LEVEL_UNKNOWN) {
			last_y = -1;
			continue;
		}
		if (last_y < 0 || stretch.x > last_end)
			(void)fprintf(sheet->out, "M%.1f %.1f", stretch.x, level_y);
		else
			(void)fprintf(sheet->out, "V%.1f", level_y);
		(void)fprintf(sheet->out, "H%.1f", stretch.end);
		last_y = level_y;
		last_end = stretch.end;
	}
	(void)fputs("\"/>\n", sheet->out);
}

/* --- spans ---------------------------------------------------------------------------------------- */

/* Where the next box that is more than a line begins. */
static double room_after(const struct td_sheet *sheet, const struct td_row *row, size_t piece)
{
	for (size_t i = piece + 1; i < row->pieces; i++)
		if (row->piece[i].what != TD_LOOK_LINE)
			return td_sheet_x(sheet, row->piece[i].from_ns);
	return sheet->right;
}

/* A calm ground for a label on a pattern. */
static void write_ground(const struct td_sheet *sheet, const struct td_piece *piece, double x, double y,
			 size_t bytes)
{
	if (piece->what != TD_LOOK_SLANTED && piece->what != TD_LOOK_DOTTED && piece->what != TD_LOOK_CROSSED)
		return;
	(void)fprintf(
		sheet->out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%d\" fill=\"#fff\"/>\n",
		x - 2, y - TD_SHEET_WAVE / 2.0 + 1,
		td_draw_width(td_draw_length(piece->label, bytes), TD_SHEET_SMALL) + 3, TD_SHEET_WAVE - 2);
}

static void write_label(const struct td_sheet *sheet, const struct td_piece *piece, double x, double y,
			size_t bytes, bool beside)
{
	const char *look = "td-on";

	if (piece->what == TD_LOOK_LINE)
		look = "td-idle";
	else if (piece->what == TD_LOOK_SOLID && !beside)
		look = "td-white";
	if (!beside)
		write_ground(sheet, piece, x, y, bytes);
	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" class=\"%s\">", x, y + 4, look);
	td_draw_escape(sheet->out, piece->label, bytes);
	(void)fputs(piece->label[bytes] ? "\xe2\x80\xa6</text>\n" : "</text>\n", sheet->out);
}

/* Inside where it fits, else beside where there is room, else cut short, else only as a tip. `*taken` is how
 * far labels reach already. */
static void place_label(const struct td_sheet *sheet, const struct td_row *row, size_t index, double y,
			double *taken)
{
	const struct td_piece *piece = &row->piece[index];
	double width = td_draw_width(td_draw_length(piece->label, strlen(piece->label)), TD_SHEET_SMALL);
	double from = td_sheet_x(sheet, piece->from_ns);
	double to = td_sheet_x(sheet, piece->to_ns);
	double start = (from > *taken ? from : *taken) + 4;

	if (!piece->label[0])
		return;
	if (start + width + 3 <= to) {
		write_label(sheet, piece, start, y, strlen(piece->label), false);
		*taken = start + width;
	} else if (piece->what != TD_LOOK_LINE && *taken <= to &&
		   to + 4 + width <= room_after(sheet, row, index)) {
		write_label(sheet, piece, to + 4, y, strlen(piece->label), true);
		*taken = to + 4 + width;
	} else if (to - start > 34) {
		write_label(sheet, piece, start, y,
			    td_draw_fit(piece->label, to - start - 12, TD_SHEET_SMALL), false);
		*taken = to;
	}
}

static void write_span(const struct td_sheet *sheet, const struct td_piece *piece, double y)
{
	double from = td_sheet_x(sheet, piece->from_ns);
	double width = td_sheet_x(sheet, piece->to_ns) - from;
	int height = TD_SHEET_WAVE + 2;

	if (piece->what == TD_LOOK_LINE)
		(void)fprintf(sheet->out, "<path class=\"td-wave\" d=\"M%.1f %.1fh%.1f\"/>\n", from,
			      y + TD_SHEET_WAVE / 2.0, width);
	else
		(void)fprintf(sheet->out,
			      "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%d\" rx=\"2\" %s><title>",
			      from, y - height / 2.0, width < LEAST ? LEAST : width, height,
			      td_sheet_fill((enum td_look)piece->what));
	if (piece->what == TD_LOOK_LINE)
		return;
	td_draw_escape(sheet->out, piece->label, strlen(piece->label));
	(void)fputs("</title></rect>\n", sheet->out);
}

static void write_spans(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	double taken = sheet->left;

	for (int pass = 0; pass < 2; pass++) {
		for (size_t i = 0; i < row->pieces; i++) {
			if (row->piece[i].to_ns < sheet->from_ns || row->piece[i].from_ns >= sheet->to_ns)
				continue;
			if (pass == 0)
				write_span(sheet, &row->piece[i], y);
			else
				place_label(sheet, row, i, y, &taken);
		}
	}
}

void td_sheet_row(const struct td_sheet *sheet, size_t index)
{
	const struct td_row *row = &sheet->drawing->row[index];
	double y = td_sheet_row_y(sheet, index);

	if (row->group)
		write_heading(sheet, row->group,
			      y - td_sheet_row_height(row) / 2 - TD_SHEET_HEADING / 2.0 + 2);
	td_sheet_name(sheet, row->name, y);
	if (row->kind == TD_ROW_CURVE) {
		td_sheet_curve(sheet, row, y);
		return;
	}
	if (row->kind == TD_ROW_SPANS) {
		write_spans(sheet, row, y);
		return;
	}
	write_hatches(sheet, row, y);
	write_boxes(sheet, row, y);
	write_line(sheet, row, y);
}
