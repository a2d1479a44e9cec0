/* SPDX-License-Identifier: MIT */
/* What a drawing holds; shared by the files of sim/draw*. */
#ifndef TD_SIM_DRAW_MODEL_H
#define TD_SIM_DRAW_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "sim/draw.h"

/* A piece of a row: a level until the next one begins, a span, or a point. */
struct td_piece {
	td_ns from_ns;
	td_ns to_ns; /* TD_NEVER for levels and points: until the next one */
	int what;    /* enum td_level, enum td_look, or millionths */
	char *label; /* NULL for levels */
};

struct td_row {
	enum td_row_kind kind;
	bool hatched; /* `hatch` tells something */
	char *name;
	char *group;   /* heading above this row, or NULL */
	char *low_end; /* of a curve, else NULL */
	char *high_end;
	struct td_piece *piece;
	size_t pieces;
	size_t room;
	struct td_piece *hatch;
	size_t hatches;
	size_t hatch_room;
};

struct td_mark {
	td_ns at_ns;
	int row;
	enum td_mark_kind kind;
	char *sentence;
	size_t order; /* of adding */
};

struct td_drawing {
	char *title;
	char *description;
	char *next_group;
	char *meaning[TD_LOOKS];
	char *hatch_meaning;
	int64_t wall_ns; /* at time 0; 0 = unknown */
	bool has_window;
	td_ns from_ns; /* the window; without one, what was added so far */
	td_ns to_ns;
	struct td_row *row;
	size_t rows;
	size_t row_room;
	struct td_mark *mark;
	size_t marks;
	size_t mark_room;
	bool failed;
	struct td_error failure; /* the first one */
};

#endif
