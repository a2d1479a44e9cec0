/* SPDX-License-Identifier: MIT */
/* One signal of a trace on its way into a drawing; used by sim/draw_trace.c alone. */
#ifndef TD_SIM_DRAW_TRACK_H
#define TD_SIM_DRAW_TRACK_H

#include <stdbool.h>

#include "sim/draw.h"
#include "trace/vcd_reader.h"

/* In the order of the rows within a group. */
enum td_track_role {
	TD_TRACK_HOLD = 0, /* one way of a request; all of a scope share a row */
	TD_TRACK_STATE,
	TD_TRACK_OUTPUT,
	TD_TRACK_POSITION,
	TD_TRACK_NUMBER,
	TD_TRACK_LEVEL,  /* with a row of its own */
	TD_TRACK_ACTIVE, /* hatches the row of its level */
	TD_TRACK_CAUSE,  /* no row */
	TD_TRACK_MOMENT, /* no row */
	TD_TRACK_LOST,   /* no row */
	TD_TRACK_NOTHING,
	TD_TRACK_ROLES
};

/* An earlier value of a number. */
struct td_past {
	td_ns at_ns;
	struct td_vcd_value value;
};

struct td_group {
	char *path;
	int hold_row;
	int state_row;
	td_ns hold_end_ns; /* of the last span in the row of requests */
	int trip;          /* last cause of a trip, 0 = none */
	int powered;       /* track of the output that was high last; -1 = none */
};

struct td_track {
	enum td_track_role role;
	int row;
	size_t group;
	char *name;
	unsigned int width;
	bool known;
	td_ns since_ns;
	struct td_vcd_value value;
	struct td_past *past; /* TD_TRACK_NUMBER */
	size_t pasts;
	size_t past_room;
};

/* What a signal is, by the layout of our own traces (`own`) or by its form. `scope` is its whole path. */
enum td_track_role td_track_role_of(const struct td_vcd_signal *signal, bool own);

/* In our own traces: serves a replay and says nothing to somebody who looks. */
bool td_track_is_inner(const struct td_vcd_signal *signal);

/* The last part of a path of scopes. */
const char *td_track_last_part(const char *path);

/* A state in words. `way` names the powered way, `trip` the cause of the last trip or 0. */
void td_track_state(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns, uint64_t state,
		    const char *way, int trip);

/* A cause as a mark; causes that only say that all goes on are left out. */
void td_track_cause(struct td_drawing *drawing, td_ns at_ns, int row, const char *axis, int cause);

/* The values of a number from its first one up to `to_ns` as spans; changes too quick to read in a window
 * of that length become one span. */
void td_track_numbers(struct td_drawing *drawing, const struct td_track *track, td_ns window_ns, td_ns to_ns);

#endif
