/* SPDX-License-Identifier: MIT */
/*
 * Timing diagrams: levels, spans with a label and numbered marks over one time axis, written as SVG.
 * Everything that tells two things apart is also a shape, a pattern or a word, never colour alone.
 *
 *     struct td_drawing *drawing = td_drawing_new("Boom against its end", "Invented numbers.");
 *     td_drawing_group(drawing, "boom");
 *     int row = td_drawing_add_row(drawing, TD_ROW_OUTPUT, "raise");
 *     td_drawing_add_level(drawing, row, 0, TD_LEVEL_LOW);
 *     td_drawing_add_level(drawing, row, TD_MS(200), TD_LEVEL_HIGH);
 *     td_drawing_add_mark(drawing, TD_MS(200), row, TD_MARK_PLAIN, "the way is powered");
 *     td_drawing_write_svg(drawing, stdout, &err);
 *     td_drawing_free(drawing);
 *
 * All text is UTF-8 and copied; what is no valid text is shown as U+FFFD. What goes wrong while adding
 * (no memory, a row that does not exist, time that runs backwards in a row) is kept and comes out of
 * td_drawing_write_svg(), so that the calls in between need no check.
 */
#ifndef TD_SIM_DRAW_H
#define TD_SIM_DRAW_H

#include <stdio.h>

#include "core/time.h"
#include "error.h"

struct td_drawing;

enum td_row_kind {
	TD_ROW_LEVEL = 0, /* a line that steps between low and high: a switch, a request */
	TD_ROW_OUTPUT,    /* a solid bar while high: something is powered */
	TD_ROW_SPANS,     /* boxes with a label: states, holds */
	TD_ROW_CURVE,     /* a position between two ends */
};

enum td_level { TD_LEVEL_LOW = 0, TD_LEVEL_HIGH, TD_LEVEL_UNKNOWN };

/* How a span is filled. */
enum td_look {
	TD_LOOK_LINE = 0, /* no box, a line: nothing is going on */
	TD_LOOK_PLAIN,
	TD_LOOK_SOLID,
	TD_LOOK_SLANTED,
	TD_LOOK_DOTTED,
	TD_LOOK_CROSSED, /* with a heavy border */
	TD_LOOKS
};

enum td_mark_kind {
	TD_MARK_PLAIN = 0,
	TD_MARK_GRAVE, /* a protective stop: black and square */
};

enum { TD_NO_ROW = -1 };

/* An empty drawing; NULL if there is no memory. `description` ("" is fine) stands under the title and
 * is read out by screen readers. */
struct td_drawing *td_drawing_new(const char *title, const char *description);

/* NULL is fine. */
void td_drawing_free(struct td_drawing *drawing);

/* Another description, in the place of the one it was made with. */
void td_drawing_describe(struct td_drawing *drawing, const char *description);

/* The wall clock at time 0, in nanoseconds since 1970 in UTC: the list of moments then tells the time of day, too. */
void td_drawing_clock(struct td_drawing *drawing, int64_t wall_ns);

/* Shows only from ... to. Without it everything that was added is shown. */
void td_drawing_window(struct td_drawing *drawing, td_ns from_ns, td_ns to_ns);

/* The rows added from now on stand under this heading. */
void td_drawing_group(struct td_drawing *drawing, const char *name);

/* Adds a row below the others. Returns its number. */
int td_drawing_add_row(struct td_drawing *drawing, enum td_row_kind kind, const char *name);

/* Adds a TD_ROW_CURVE row with the names of its two ends. Returns its number. */
int td_drawing_add_curve(struct td_drawing *drawing, const char *name, const char *low_end,
			 const char *high_end);

/* A point of a curve: the share of the way from the low end to the high one in millionths (what lies
 * outside is drawn at the end), or negative where the position is unknown from `at_ns` on. Points are joined
 * by straight lines. In the order of time. */
void td_drawing_add_point(struct td_drawing *drawing, int row, td_ns at_ns, int32_t share_ppm);

/* From `at_ns` on the level of a TD_ROW_LEVEL or TD_ROW_OUTPUT row is `level`; before its first level
 * a row is empty. In the order of time. */
void td_drawing_add_level(struct td_drawing *drawing, int row, td_ns at_ns, enum td_level level);

/* A TD_ROW_LEVEL row tells two things: the level as its line, and hatched what the level means, such as a contact that counts as
 * active. Nothing is hatched yet. */
void td_drawing_hatch(struct td_drawing *drawing, int row, const char *meaning);

/* Hatches a stretch. In the order of time, without overlaps. */
void td_drawing_add_hatch(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns);

/* A span of a TD_ROW_SPANS row. In the order of time, without overlaps. `label` is shown where it fits
 * and as a tip on pointing. */
void td_drawing_add_span(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns, enum td_look look,
			 const char *label);

/* A numbered moment, with a dot on `row` (or TD_NO_ROW); the sentence stands in the list below the
 * diagram. Marks are numbered from 1 in the order of time, whatever the order of the calls. */
void td_drawing_add_mark(struct td_drawing *drawing, td_ns at_ns, int row, enum td_mark_kind kind,
			 const char *sentence);

/* What a look means, for the legend; looks that are used but have no meaning are left out of it. */
void td_drawing_explain(struct td_drawing *drawing, enum td_look look, const char *meaning);

/* Takes away the rows in which nothing changes and no mark stands; rows are numbered anew. */
void td_drawing_drop_still(struct td_drawing *drawing);

/* Writes the picture: one SVG 1.1 file, 1000 units wide. 0, or -1 with a sentence. */
int td_drawing_write_svg(struct td_drawing *drawing, FILE *out, struct td_error *err);

#endif
