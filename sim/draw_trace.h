/* SPDX-License-Identifier: MIT */
/*
 * A trace (lib/trace) as a drawing. Our own traces (lib/trace/layout.h) are drawn by what their signals
 * mean: requests and states as spans, bridge inputs as bars, positions as curves, causes as numbered moments
 * with their sentence. Anybody else's: bits as levels, vectors as numbers, events as moments. Comments
 * among the values become moments. Signals of real numbers are left out.
 */
#ifndef TD_SIM_DRAW_TRACE_H
#define TD_SIM_DRAW_TRACE_H

#include <stdbool.h>
#include <stdio.h>

#include "sim/draw.h"

struct td_trace_view {
	const char *title;       /* NULL: the last part of the name the file is shown as */
	const char *description; /* NULL: none */
	td_ns from_ns;           /* in the time of the file */
	td_ns to_ns;             /* TD_NEVER: to its end */
	bool changed_only;       /* leave out rows in which nothing changes */
	bool all;                /* also what our own traces hold for a replay alone */
};

/* Reads `in` to the end of the view. The drawing is the caller's to write and free; more marks may be added
 * to it. NULL with a sentence in *err where the trace cannot be read, holds nothing in the view or holds
 * more than can be drawn. `shown_as` stands for the file in messages. */
struct td_drawing *td_drawing_of_trace(FILE *in, const char *shown_as, const struct td_trace_view *view,
				       struct td_error *err);

#endif
