/* SPDX-License-Identifier: MIT */
/* What the head of a trace of the daemon's own says to somebody who looks at its drawing. */
#ifndef TD_SIM_DRAW_HEAD_H
#define TD_SIM_DRAW_HEAD_H

#include "sim/draw_trace.h"

/* `text` is any comment of a trace. If it is a head, the drawing gets the wall clock and, unless the view has a description
 * of its own, a sentence about the recording. */
void td_draw_head(struct td_drawing *drawing, const struct td_trace_view *view, const char *text);

#endif
