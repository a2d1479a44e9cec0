/* SPDX-License-Identifier: MIT */
/* The frame of a drawing: title, axis, grid; and the order in which its parts are written. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "sim/draw_sheet.h"
#include "sim/draw_text.h"

enum { TITLE_FONT = 16, LABEL_LEAST = 90, LABEL_MOST = 230, AXIS_HEIGHT = 40, TICKS = 10 };

double td_sheet_x(const struct td_sheet *sheet, td_ns at_ns)
{
	if (at_ns <= sheet->from_ns)
		return sheet->left;
	if (at_ns >= sheet->to_ns)
		return sheet->right;
	double share = (double)(at_ns - sheet->from_ns) / (double)(sheet->to_ns - sheet->from_ns);
	return sheet->left + share * (sheet->right - sheet->left);
}

double td_sheet_row_height(const struct td_row *row)
{
	return row->kind == TD_ROW_CURVE ? TD_SHEET_CURVE : TD_SHEET_ROW;
}

double td_sheet_row_y(const struct td_sheet *sheet, size_t row)
{
	const struct td_row *rows = sheet->drawing->row;
	double y = sheet->top;

	for (size_t i = 0; i <= row; i++)
		y += (rows[i].group ? TD_SHEET_HEADING : 0) + td_sheet_row_height(&rows[i]);
	return y - td_sheet_row_height(&rows[row]) / 2;
}

/* --- measuring ------------------------------------------------------------------------------------ */

static double label_width(const struct td_drawing *drawing)
{
	double widest = LABEL_LEAST;

	for (size_t i = 0; i < drawing->rows; i++) {
		const char *name = drawing->row[i].name;
		double width = td_draw_width(td_draw_length(name, strlen(name)), TD_SHEET_FONT) + 12;

		if (width > widest)
			widest = width;
	}
	return widest > LABEL_MOST ? LABEL_MOST : widest;
}

static double description_lines(const struct td_drawing *drawing)
{
	const char *rest = drawing->description;
	double lines = 0;

	while (*rest) {
		td_draw_line(rest, TD_SHEET_WIDTH - 2 * TD_SHEET_EDGE, TD_SHEET_FONT, &rest);
		lines++;
	}
	return lines;
}

static int by_time(const void *a, const void *b)
{
	const struct td_mark *one = *(const struct td_mark *const *)a;
	const struct td_mark *other = *(const struct td_mark *const *)b;

	if (one->at_ns != other->at_ns)
		return one->at_ns < other->at_ns ? -1 : 1;
	return one->order < other->order ? -1 : 1;
}

static int collect_marks(struct td_sheet *sheet, struct td_error *err)
{
	const struct td_drawing *drawing = sheet->drawing;
	size_t found = 0;

	sheet->mark = calloc(drawing->marks + 1, sizeof(const struct td_mark *));
	if (!sheet->mark)
		return td_error_set(err, "no memory for the drawing");
	for (size_t i = 0; i < drawing->marks; i++)
		if (drawing->mark[i].at_ns >= sheet->from_ns && drawing->mark[i].at_ns <= sheet->to_ns)
			sheet->mark[found++] = &drawing->mark[i];
	qsort(sheet->mark, found, sizeof(const struct td_mark *), by_time);
	sheet->marks = found > TD_SHEET_MARKS_MAX ? TD_SHEET_MARKS_MAX : found;
	sheet->unlisted = found - sheet->marks;
	return 0;
}

static void measure(struct td_sheet *sheet)
{
	const struct td_drawing *drawing = sheet->drawing;

	sheet->from_ns = drawing->from_ns == TD_NEVER ? 0 : drawing->from_ns;
	sheet->to_ns = drawing->to_ns;
	if (sheet->to_ns <= sheet->from_ns)
		sheet->to_ns = td_time_after(sheet->from_ns, TD_MS(1));
	sheet->axis = td_draw_axis(sheet->to_ns - sheet->from_ns, TICKS);
	sheet->left = TD_SHEET_EDGE + label_width(drawing);
	sheet->right = TD_SHEET_WIDTH - TD_SHEET_EDGE;
}

static void measure_height(struct td_sheet *sheet)
{
	size_t rows = sheet->drawing->rows;

	sheet->top = 38 + description_lines(sheet->drawing) * TD_SHEET_LINE;
	if (sheet->marks)
		sheet->top += TD_SHEET_PLATE + TD_SHEET_LEADERS;
	sheet->bottom = rows ? td_sheet_row_y(sheet, rows - 1) +
					td_sheet_row_height(&sheet->drawing->row[rows - 1]) / 2
			     : sheet->top;
}

/* --- writing -------------------------------------------------------------------------------------- */

static const char style[] =
	"<style>.td text{font-family:system-ui,\"Segoe "
	"UI\",Helvetica,Arial,sans-serif;font-size:12px;fill:" TD_INK "}"
	".td .td-wave{fill:none;stroke:" TD_INK ";stroke-width:1.4;stroke-linejoin:round}"
	".td .td-lead{fill:none;stroke:" TD_DIM ";stroke-width:.8}"
	".td .td-on,.td .td-idle{font-size:11px;stroke:#fff;stroke-width:3px;paint-order:stroke;"
	"stroke-linejoin:round}.td .td-idle{fill:" TD_DIM "}"
	".td .td-white{font-size:11px;fill:#fff;font-weight:bold}</style>\n";

static const char patterns[] =
	"<defs>"
	"<pattern id=\"td-slanted\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\">"
	"<rect width=\"6\" height=\"6\" fill=\"#fff\"/><path d=\"M-1 1l2-2M0 6l6-6M5 7l2-2\" stroke=\"" TD_DIM
	"\"/>"
	"</pattern>"
	"<pattern id=\"td-dotted\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">"
	"<rect width=\"5\" height=\"5\" fill=\"#fff\"/><circle cx=\"2.5\" cy=\"2.5\" r=\".9\" fill=\"" TD_DIM
	"\"/>"
	"</pattern>"
	"<pattern id=\"td-crossed\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\">"
	"<rect width=\"8\" height=\"8\" fill=\"#fff\"/><path d=\"M0 0l8 8M0 8l8-8\" stroke=\"" TD_GRAVE
	"\" stroke-width=\".8\"/></pattern>"
	"<pattern id=\"td-hatched\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\">"
	"<rect width=\"4\" height=\"4\" fill=\"" TD_WASH "\"/><path d=\"M1 0v4\" stroke=\"" TD_DIM
	"\"/></pattern>"
	"<pattern id=\"td-unknown\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\">"
	"<rect width=\"4\" height=\"4\" fill=\"#fff\"/><path d=\"M0 2h4\" stroke=\"" TD_DIM "\"/></pattern>"
	"</defs>\n";

static void write_description(const struct td_sheet *sheet)
{
	const struct td_drawing *drawing = sheet->drawing;
	char from[TD_DRAW_TIME_MAX];
	char to[TD_DRAW_TIME_MAX];

	td_draw_moment(&sheet->axis, sheet->from_ns, from);
	td_draw_moment(&sheet->axis, sheet->to_ns, to);
	(void)fputs("<title>", sheet->out);
	td_draw_escape(sheet->out, drawing->title, strlen(drawing->title));
	(void)fputs("</title>\n<desc>", sheet->out);
	td_draw_escape(sheet->out, drawing->description, strlen(drawing->description));
	(void)fprintf(
		sheet->out,
		" Timing diagram with %zu rows from %s to %s and %zu numbered moments, listed below it.",
		drawing->rows, from, to, sheet->marks + sheet->unlisted);
	(void)fputs("</desc>\n", sheet->out);
}

static void write_title(const struct td_sheet *sheet)
{
	const struct td_drawing *drawing = sheet->drawing;
	const char *rest = drawing->description;
	size_t bytes = td_draw_fit(drawing->title, TD_SHEET_WIDTH - 2 * TD_SHEET_EDGE, TITLE_FONT);
	double y = 26;

	(void)fprintf(sheet->out, "<text x=\"%d\" y=\"%.1f\" style=\"font-size:%dpx;font-weight:bold\">",
		      TD_SHEET_EDGE, y, TITLE_FONT);
	td_draw_escape(sheet->out, drawing->title, bytes);
	(void)fputs("</text>\n", sheet->out);
	while (*rest) {
		const char *line = rest;

		bytes = td_draw_line(line, TD_SHEET_WIDTH - 2 * TD_SHEET_EDGE, TD_SHEET_FONT, &rest);
		y += TD_SHEET_LINE;
		(void)fprintf(sheet->out, "<text x=\"%d\" y=\"%.1f\">", TD_SHEET_EDGE, y + 1);
		td_draw_escape(sheet->out, line, bytes);
		(void)fputs("</text>\n", sheet->out);
	}
}

/* Grid lines with their numbers, small ticks between them. */
static void write_axis(const struct td_sheet *sheet)
{
	const struct td_draw_axis *axis = &sheet->axis;
	td_ns small_ns = axis->step_ns / axis->minor;
	td_ns first = sheet->from_ns / small_ns + (sheet->from_ns % small_ns ? 1 : 0);

	for (td_ns n = first; n <= sheet->to_ns / small_ns; n++) {
		double x = td_sheet_x(sheet, n * small_ns);
		char label[TD_DRAW_TIME_MAX];

		if (n % axis->minor) {
			(void)fprintf(sheet->out, "<path d=\"M%.1f %.1fv3\" stroke=\"" TD_DIM "\"/>\n", x,
				      sheet->bottom + 4);
			continue;
		}
		td_draw_time(n * small_ns, axis->unit_ns, axis->decimals, label);
		(void)fprintf(sheet->out, "<path d=\"M%.1f %.1fV%.1f\" stroke=\"" TD_FAINT "\"/>\n", x,
			      sheet->top, sheet->bottom + 4);
		(void)fprintf(sheet->out, "<path d=\"M%.1f %.1fv6\" stroke=\"" TD_INK "\"/>\n", x,
			      sheet->bottom + 4);
		(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%s</text>\n", x,
			      sheet->bottom + 22, label);
	}
	(void)fprintf(sheet->out, "<path d=\"M%.1f %.1fH%.1f\" stroke=\"" TD_INK "\"/>\n", sheet->left,
		      sheet->bottom + 4, sheet->right);
	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n",
		      sheet->left - 20, sheet->bottom + 22, axis->unit_long);
}

static void write_all(struct td_sheet *sheet)
{
	double legend_y = sheet->bottom + AXIS_HEIGHT;
	double height = legend_y + td_sheet_legend_height(sheet);

	(void)fprintf(
		sheet->out,
		"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
		"<!-- SPDX-License-Identifier: MIT -->\n"
		"<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%.0f\" viewBox=\"0 0 %d "
		"%.0f\" "
		"role=\"img\" class=\"td\">\n",
		TD_SHEET_WIDTH, height, TD_SHEET_WIDTH, height);
	write_description(sheet);
	(void)fputs(style, sheet->out);
	(void)fputs(patterns, sheet->out);
	(void)fprintf(sheet->out, "<rect width=\"%d\" height=\"%.0f\" fill=\"#fff\"/>\n", TD_SHEET_WIDTH,
		      height);
	write_title(sheet);
	write_axis(sheet);
	for (size_t i = 0; i < sheet->drawing->rows; i++)
		td_sheet_row(sheet, i);
	td_sheet_marks(sheet);
	td_sheet_legend(sheet, legend_y);
	(void)fputs("</svg>\n", sheet->out);
}

int td_drawing_write_svg(struct td_drawing *drawing, FILE *out, struct td_error *err)
{
	struct td_sheet sheet = {.out = out, .drawing = drawing};

	if (drawing->failed)
		return td_error_set(err, "%s", drawing->failure.text);
	measure(&sheet);
	if (collect_marks(&sheet, err))
		return -1;
	measure_height(&sheet);
	errno = 0;
	write_all(&sheet);
	free(sheet.mark);
	if (ferror(out) || fflush(out))
		return td_error_set(err, "the drawing could not be written: %s",
				    errno ? strerror(errno) : "unknown error");
	return 0;
}
