/* SPDX-License-Identifier: MIT */
/* The sheet an SVG is written on: where things are. Shared by the writers of its parts. */
#ifndef TD_SIM_DRAW_SHEET_H
#define TD_SIM_DRAW_SHEET_H

#include "sim/draw_model.h"
#include "sim/draw_time.h"

/* Lengths in SVG units; one is about a pixel. */
enum {
	TD_SHEET_WIDTH = 1000,
	TD_SHEET_EDGE = 16,
	TD_SHEET_ROW = 22,     /* height of a row */
	TD_SHEET_CURVE = 46,   /* height of a curve's row */
	TD_SHEET_WAVE = 14,    /* height of what is drawn in it */
	TD_SHEET_HEADING = 20, /* height of a group's heading */
	TD_SHEET_PLATE = 18,   /* height of a mark's number plate */
	TD_SHEET_LEADERS = 16, /* between the plates and the first row */
	TD_SHEET_LINE = 17,    /* line of the legend */
	TD_SHEET_FONT = 12,
	TD_SHEET_SMALL = 11,
	TD_SHEET_MARKS_MAX = 300, /* listed; further ones are counted */
};

/* Ink and its shades; the drawing reads the same in grey. */
#define TD_INK   "#1c2b36"
#define TD_DIM   "#5d6b75"
#define TD_FAINT "#d5dbdf"
#define TD_WASH  "#eef1f3"
#define TD_POWER "#0e5a63"
#define TD_GRAVE "#7a1f0f"

struct td_sheet {
	FILE *out;
	const struct td_drawing *drawing;
	struct td_draw_axis axis;
	td_ns from_ns;
	td_ns to_ns;
	double left; /* of the time axis */
	double right;
	double top; /* of the rows, headings included */
	double bottom;
	const struct td_mark **mark; /* those in the window, in the order of time */
	size_t marks;
	size_t unlisted; /* marks in the window past TD_SHEET_MARKS_MAX */
};

/* Where a moment is; one outside the window is at its edge. */
double td_sheet_x(const struct td_sheet *sheet, td_ns at_ns);

/* How high a row is without its heading, and where its middle is. */
double td_sheet_row_height(const struct td_row *row);
double td_sheet_row_y(const struct td_sheet *sheet, size_t row);

/* Writes one row's name and what happens in it. */
void td_sheet_row(const struct td_sheet *sheet, size_t index);

/* The same for a curve. */
void td_sheet_curve(const struct td_sheet *sheet, const struct td_row *row, double y);

/* Writes a row's name, cut short where the room ends, its middle at `y`. */
void td_sheet_name(const struct td_sheet *sheet, const char *name, double y);

/* Writes plates, leaders and dots of the marks. */
void td_sheet_marks(const struct td_sheet *sheet);

/* How high legend and list of marks are, and writes them from `y` on. */
double td_sheet_legend_height(const struct td_sheet *sheet);
void td_sheet_legend(const struct td_sheet *sheet, double y);

/* What fills a span, as attributes. */
const char *td_sheet_fill(enum td_look look);

#endif
