/* SPDX-License-Identifier: MIT */
/*
 * What the machine would suffer if requests went straight to the bridge, with nobody in between: a list of
 * powered spans is played to a plant in virtual time. For comparison in demonstrations and campaigns.
 */
#ifndef TD_SIM_STRAIGHT_H
#define TD_SIM_STRAIGHT_H

#include <stddef.h>

#include "sim/plant.h"
#include "sim/watch.h"

/* The input of one way is high from `at_ns` to `until_ns`. Spans may overlap: of the same way they join, of
 * both ways they put both inputs high. A span that ends before it begins is empty. */
struct td_straight_span {
	td_ns at_ns; /* >= 0, as is until_ns */
	td_ns until_ns;
	uint8_t axis; /* spans of axes that do not exist are passed over */
	uint8_t way;  /* 0 or 1 */
};

/* What breaks meanwhile. */
struct td_straight_fault {
	td_ns at_ns; /* >= 0 */
	enum { TD_STRAIGHT_JAM = 0, TD_STRAIGHT_BROKEN_WIRE } kind;
	uint8_t index; /* of the axis or the switch; others are passed over */
};

struct td_straight_case {
	const struct td_straight_span *span;
	size_t spans;
	const struct td_straight_fault *fault; /* in the order of time */
	size_t faults;
};

struct td_straight_result {
	uint8_t axes;
	td_ns end_ns; /* when the last span has ended, and a second to come to rest */
	uint64_t starts;
	struct td_plant_report axis[TD_AXES_MAX]; /* as of then */
};

/* Plays spans and faults to a new plant of `model` that starts at time 0. The watcher (may be empty) is told of
 * every change, with a sample every 10 ms while something moves. 0, or -1 if there is no memory. */
int td_straight_run(const struct td_plant_model *model, const struct td_straight_case *given,
		    struct td_watcher watcher, struct td_straight_result *result);

#endif
