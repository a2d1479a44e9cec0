/* SPDX-License-Identifier: MIT */
/*
 * How one axis moves between two events: its speed approaches a final speed exponentially, with one
 * time constant (a first-order lag), and its position is the exact integral. A path is anchored where
 * it began and evaluated from there, so asking in small steps or in one big step gives the same bits.
 *
 * Positions are shares of the travel (0 = the hard stop of way 0, 1 = that of way 1; unbounded on an
 * axis without ends), speeds shares a second, positive towards way 1.
 */
#ifndef TD_SIM_PATH_H
#define TD_SIM_PATH_H

#include <stdbool.h>

#include "core/time.h"

struct td_path {
	td_ns from_ns;
	double position;    /* at from_ns */
	double speed;       /* at from_ns */
	double final_speed; /* after a long time */
	double tau_s;       /* time constant; 0 = final_speed at once */
};

/* Stands still at `position` from `at_ns` on. */
struct td_path td_path_still(td_ns at_ns, double position);

double td_path_position(const struct td_path *path, td_ns at_ns);
double td_path_speed(const struct td_path *path, td_ns at_ns);

/* A point of the travel seen from one side: `side` is +1 (what lies above `edge` is beyond it) or -1
 * (what lies below is). */
struct td_path_edge {
	double edge;
	int side;
};

/* At `edge` or beyond it. */
bool td_path_beyond(const struct td_path_edge *edge, double position);

/* The first nanosecond after `after_ns` at which the path goes beyond the edge (`beyond` true) or
 * comes back from it (false); TD_NEVER if it never does. Only a motion in the right direction counts:
 * a path that leaves an edge it stands on does not go beyond it. */
td_ns td_path_first(const struct td_path *path, td_ns after_ns, const struct td_path_edge *edge, bool beyond);

#endif
