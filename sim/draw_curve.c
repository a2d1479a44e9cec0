/* SPDX-License-Identifier: MIT */
/* A row that shows a position between two ends. */
#include <string.h>

#include "sim/draw_sheet.h"
#include "sim/draw_text.h"

/* Points closer than this to the last one drawn add nothing. */
#define CLOSE 0.4

enum { FULL = 1000000, HALF_HEIGHT = TD_SHEET_CURVE / 2 - 6 };

static double curve_y(double middle, int share_ppm)
{
	int within = share_ppm > FULL ? FULL : share_ppm;

	return middle + HALF_HEIGHT - 2.0 * HALF_HEIGHT * within / FULL;
}

static void write_end(const struct td_sheet *sheet, const char *name, double y)
{
	(void)fprintf(sheet->out,
		      "<path d=\"M%.1f %.1fH%.1f\" stroke=\"" TD_FAINT "\" stroke-dasharray=\"1 3\"/>\n",
		      sheet->left, y, sheet->right);
	(void)fprintf(sheet->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\" class=\"td-idle\">",
		      sheet->left - 8, y + 4);
	td_draw_escape(sheet->out, name, td_draw_fit(name, sheet->left - TD_SHEET_EDGE - 10, TD_SHEET_SMALL));
	(void)fputs("</text>\n", sheet->out);
}

/* The position at the left edge, on the line between the points around it. */
static int share_at_edge(const struct td_sheet *sheet, const struct td_piece *before,
			 const struct td_piece *after)
{
	double part;

	if (after->what < 0 || after->from_ns == before->from_ns)
		return before->what;
	part = (double)(sheet->from_ns - before->from_ns) / (double)(after->from_ns - before->from_ns);
	return before->what + (int)(part * (after->what - before->what));
}

/* One path through all points; the pen lifts where the position is unknown. */
static void write_path(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	double last_x = -1;
	bool down = false;

	(void)fputs("<path class=\"td-wave\" d=\"", sheet->out);
	for (size_t i = 0; i < row->pieces && row->piece[i].from_ns <= sheet->to_ns; i++) {
		const struct td_piece *piece = &row->piece[i];
		bool is_last = i + 1 == row->pieces || row->piece[i + 1].from_ns > sheet->to_ns;
		int share = piece->what;
		double x = td_sheet_x(sheet, piece->from_ns);

		if (!is_last && row->piece[i + 1].from_ns <= sheet->from_ns)
			continue;
		if (share >= 0 && piece->from_ns < sheet->from_ns && i + 1 < row->pieces)
			share = share_at_edge(sheet, piece, piece + 1);
		if (share >= 0 && (!down || is_last || x - last_x >= CLOSE)) {
			(void)fprintf(sheet->out, "%c%.1f %.1f", down ? 'L' : 'M', x, curve_y(y, share));
			last_x = x;
		}
		down = share >= 0;
		if (is_last && down)
			(void)fprintf(sheet->out, "H%.1f", sheet->right);
	}
	(void)fputs("\"/>\n", sheet->out);
}

void td_sheet_curve(const struct td_sheet *sheet, const struct td_row *row, double y)
{
	write_end(sheet, row->high_end, curve_y(y, FULL));
	write_end(sheet, row->low_end, curve_y(y, 0));
	write_path(sheet, row, y);
}
