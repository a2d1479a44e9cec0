/* SPDX-License-Identifier: MIT */
/* The numbered moments of a drawing: plates above it, dots in it, sentences below it. */
#include <stdlib.h>
#include <string.h>

#include "sim/draw_place.h"
#include "sim/draw_sheet.h"
#include "sim/draw_text.h"

enum { PLATE_ROOM = 44, LEGEND_SAMPLE = 30, MOMENT_MAX = 2 * TD_DRAW_TIME_MAX + 8 };

/* A plate that stands for several marks is grave if one of them is. */
static bool is_grave(const struct td_sheet *sheet, size_t first, size_t last)
{
	for (size_t i = first; i <= last; i++)
		if (sheet->mark[i]->kind == TD_MARK_GRAVE)
			return true;
	return false;
}

static void write_plate(const struct td_sheet *sheet, double middle, double y, double width, size_t first,
			size_t last)
{
	bool grave = is_grave(sheet, first, last);

	(void)fprintf(sheet->out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%d\" rx=\"%d\" %s/>\n",
		      middle - width / 2, y, width, TD_SHEET_PLATE - 2, grave ? 0 : 7,
		      grave ? "fill=\"" TD_GRAVE "\" stroke=\"" TD_GRAVE "\""
			    : "fill=\"#fff\" stroke=\"" TD_INK "\"");
	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" class=\"%s\">%zu",
		      middle, y + 12, grave ? "td-white" : "td-on", first + 1);
	if (last > first)
		(void)fprintf(sheet->out, "\xe2\x80\x93%zu", last + 1);
	(void)fputs("</text>\n", sheet->out);
}

static void write_dots(const struct td_sheet *sheet)
{
	for (size_t i = 0; i < sheet->marks; i++) {
		const struct td_mark *mark = sheet->mark[i];

		if (mark->row < 0 || (size_t)mark->row >= sheet->drawing->rows)
			continue;
		double x = td_sheet_x(sheet, mark->at_ns);
		double y = td_sheet_row_y(sheet, (size_t)mark->row) -
			   td_sheet_row_height(&sheet->drawing->row[mark->row]) / 2 + 1;
		if (mark->kind == TD_MARK_GRAVE)
			(void)fprintf(sheet->out,
				      "<rect x=\"%.1f\" y=\"%.1f\" width=\"6\" height=\"6\" fill=\"" TD_GRAVE
				      "\"/>\n",
				      x - 3, y - 3);
		else
			(void)fprintf(
				sheet->out,
				"<circle cx=\"%.1f\" cy=\"%.1f\" r=\"2.6\" fill=\"#fff\" stroke=\"" TD_INK
				"\"/>\n",
				x, y);
	}
}

static void write_leaders(const struct td_sheet *sheet, const struct td_plate *plate, double plate_y)
{
	double foot = plate_y + TD_SHEET_PLATE - 2;

	for (size_t i = plate->first; i <= plate->last; i++) {
		double x = td_sheet_x(sheet, sheet->mark[i]->at_ns);

		(void)fprintf(sheet->out, "<path class=\"td-lead\" d=\"M%.1f %.1fL%.1f %.1f\"/>\n",
			      plate->place, foot, x, sheet->top);
		(void)fprintf(sheet->out,
			      "<path class=\"td-lead\" stroke-dasharray=\"3 3\" d=\"M%.1f %.1fV%.1f\"/>\n", x,
			      sheet->top, sheet->bottom);
	}
}

void td_sheet_marks(const struct td_sheet *sheet)
{
	double plate_y = sheet->top - TD_SHEET_LEADERS - TD_SHEET_PLATE + 2;
	double x[TD_SHEET_MARKS_MAX];
	struct td_plate plate[TD_SHEET_MARKS_MAX];

	for (size_t i = 0; i < sheet->marks; i++)
		x[i] = td_sheet_x(sheet, sheet->mark[i]->at_ns);
	size_t plates = td_draw_place(x, sheet->marks, sheet->left - 8, sheet->right + 8, 3, plate);
	for (size_t i = 0; i < plates; i++)
		write_leaders(sheet, &plate[i], plate_y);
	write_dots(sheet);
	for (size_t i = 0; i < plates; i++)
		write_plate(sheet, plate[i].place, plate_y, plate[i].width, plate[i].first, plate[i].last);
}

/* --- legend --------------------------------------------------------------------------------------- */

static bool is_used(const struct td_drawing *drawing, bool spans, int what)
{
	for (size_t r = 0; r < drawing->rows; r++)
		for (size_t i = 0; i < drawing->row[r].pieces; i++)
			if ((drawing->row[r].kind == TD_ROW_SPANS) == spans &&
			    drawing->row[r].piece[i].what == what)
				return true;
	return false;
}

static bool has_kind(const struct td_drawing *drawing, enum td_row_kind kind, bool hatched)
{
	for (size_t r = 0; r < drawing->rows; r++)
		if (drawing->row[r].kind == kind && drawing->row[r].hatched == hatched)
			return true;
	return false;
}

/* One entry of the legend: a sample and its meaning; `x` moves on. `out` NULL only measures. */
static void write_entry(FILE *out, double *x, double y, const char *sample, const char *meaning)
{
	double width =
		LEGEND_SAMPLE + 6 + td_draw_width(td_draw_length(meaning, strlen(meaning)), TD_SHEET_SMALL);

	if (out) {
		(void)fprintf(
			out,
			"<g transform=\"translate(%.1f %.1f)\">%s<text x=\"%d\" y=\"10\" class=\"td-on\">",
			*x, y, sample, LEGEND_SAMPLE + 6);
		td_draw_escape(out, meaning, strlen(meaning));
		(void)fputs("</text></g>\n", out);
	}
	*x += width + 16;
}

struct entries {
	const struct td_sheet *sheet;
	FILE *out; /* NULL = only measure */
	double x;
	double y;
};

static void add_entry(struct entries *entries, const char *sample, const char *meaning)
{
	double end = entries->x;

	write_entry(NULL, &end, 0, sample, meaning);
	if (end - 16 > TD_SHEET_WIDTH - TD_SHEET_EDGE && entries->x > TD_SHEET_EDGE) {
		entries->x = TD_SHEET_EDGE;
		entries->y += TD_SHEET_LINE + 2;
	}
	write_entry(entries->out, &entries->x, entries->y, sample, meaning);
}

static void add_look(struct entries *entries, int look)
{
	const char *meaning = entries->sheet->drawing->meaning[look];
	char sample[256];

	if (!meaning || !is_used(entries->sheet->drawing, true, look))
		return;
	if (look == TD_LOOK_LINE)
		(void)snprintf(sample, sizeof(sample), "<path class=\"td-wave\" d=\"M0 13h%d\"/>",
			       LEGEND_SAMPLE);
	else
		(void)snprintf(sample, sizeof(sample), "<rect width=\"%d\" height=\"13\" rx=\"2\" %s/>",
			       LEGEND_SAMPLE, td_sheet_fill((enum td_look)look));
	add_entry(entries, sample, meaning);
}

static void add_entries(struct entries *entries)
{
	const struct td_drawing *drawing = entries->sheet->drawing;

	if (has_kind(drawing, TD_ROW_OUTPUT, false))
		add_entry(entries,
			  "<rect x=\"9\" width=\"12\" height=\"13\" fill=\"" TD_POWER
			  "\"/><path class=\"td-wave\" d=\"M0 13h9V0h12v13h9\"/>",
			  "output high");
	if (has_kind(drawing, TD_ROW_LEVEL, true))
		add_entry(entries, "<rect width=\"30\" height=\"13\" fill=\"url(#td-hatched)\"/>",
			  drawing->hatch_meaning ? drawing->hatch_meaning : "");
	if (has_kind(drawing, TD_ROW_LEVEL, true) && !has_kind(drawing, TD_ROW_LEVEL, false))
		add_entry(entries, "<path class=\"td-wave\" d=\"M0 13h9V0h12v13h9\"/>", "level of the line");
	if (has_kind(drawing, TD_ROW_LEVEL, false))
		add_entry(entries,
			  "<rect x=\"9\" width=\"12\" height=\"13\" fill=\"" TD_WASH
			  "\"/><path class=\"td-wave\" d=\"M0 13h9V0h12v13h9\"/>",
			  "level high");
	if (is_used(drawing, false, TD_LEVEL_UNKNOWN))
		add_entry(entries, "<rect width=\"30\" height=\"13\" fill=\"url(#td-unknown)\"/>", "unknown");
	for (int look = 0; look < TD_LOOKS; look++)
		add_look(entries, look);
}

/* "15.900 s", and the time of day where it is known. */
static void write_moment(const struct td_sheet *sheet, td_ns span_ns, char out[MOMENT_MAX])
{
	int64_t wall_ns = sheet->drawing->wall_ns;
	char moment[TD_DRAW_TIME_MAX];
	char clock[TD_DRAW_TIME_MAX];

	td_draw_moment(&sheet->axis, span_ns, moment);
	(void)snprintf(out, MOMENT_MAX, "%s", moment);
	if (wall_ns <= 0)
		return;
	td_draw_clock(td_time_after(wall_ns, span_ns), clock);
	(void)snprintf(out, MOMENT_MAX, "%s \xc2\xb7 %s", moment, clock);
}

/* Where the sentences begin: right of the longest moment, which is the last one's. */
static double sentence_x(const struct td_sheet *sheet)
{
	char moment[MOMENT_MAX];

	if (sheet->marks == 0)
		return 0;
	write_moment(sheet, sheet->mark[sheet->marks - 1]->at_ns, moment);
	return TD_SHEET_EDGE + PLATE_ROOM +
	       td_draw_width(td_draw_length(moment, strlen(moment)), TD_SHEET_FONT) + 12;
}

static size_t lines_of(const char *sentence, double width)
{
	size_t lines = 0;

	do {
		td_draw_line(sentence, width, TD_SHEET_FONT, &sentence);
		lines++;
	} while (*sentence);
	return lines;
}

double td_sheet_legend_height(const struct td_sheet *sheet)
{
	struct entries entries = {sheet, NULL, TD_SHEET_EDGE, 0};
	double width = TD_SHEET_WIDTH - TD_SHEET_EDGE - sentence_x(sheet);
	double height = TD_SHEET_EDGE;

	add_entries(&entries);
	if (entries.x > TD_SHEET_EDGE)
		height += entries.y + TD_SHEET_LINE + 8;
	for (size_t i = 0; i < sheet->marks; i++)
		height += (double)lines_of(sheet->mark[i]->sentence, width) * TD_SHEET_LINE + 3;
	return height + (sheet->unlisted ? TD_SHEET_LINE : 0);
}

/* Number, moment, sentence; returns where the next one goes. */
static double write_sentence(const struct td_sheet *sheet, size_t index, double x, double y)
{
	const struct td_mark *mark = sheet->mark[index];
	const char *rest = mark->sentence;
	char moment[MOMENT_MAX];

	write_moment(sheet, mark->at_ns, moment);
	write_plate(sheet, TD_SHEET_EDGE + 18, y, 36, index, index);
	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n", x - 12,
		      y + 12, moment);
	do {
		const char *line = rest;
		size_t bytes = td_draw_line(line, TD_SHEET_WIDTH - TD_SHEET_EDGE - x, TD_SHEET_FONT, &rest);

		(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\">", x, y + 12);
		td_draw_escape(sheet->out, line, bytes);
		(void)fputs("</text>\n", sheet->out);
		y += TD_SHEET_LINE;
	} while (*rest);
	return y + 3;
}

void td_sheet_legend(const struct td_sheet *sheet, double y)
{
	struct entries entries = {sheet, sheet->out, TD_SHEET_EDGE, y};
	double x = sentence_x(sheet);

	add_entries(&entries);
	if (entries.x > TD_SHEET_EDGE)
		y = entries.y + TD_SHEET_LINE + 8;
	for (size_t i = 0; i < sheet->marks; i++)
		y = write_sentence(sheet, i, x, y);
	if (sheet->unlisted)
		(void)fprintf(sheet->out,
			      "<text x=\"%.1f\" y=\"%.1f\">and %zu more moments; a shorter window shows "
			      "them</text>\n",
			      x, y + 12, sheet->unlisted);
}
