/* SPDX-License-Identifier: MIT */
/* Where in a trace of our own the last trip is. */
#ifndef TD_SIM_DRAW_TRIP_H
#define TD_SIM_DRAW_TRIP_H

#include <stdio.h>

#include "core/time.h"
#include "error.h"

/* Reads `in` to its end. 0 and the time in the file, or -1 with a sentence: it cannot be read, is none of ours, or holds
 * no trip. */
int td_draw_last_trip(FILE *in, const char *shown_as, td_ns *at_ns, struct td_error *err);

#endif
