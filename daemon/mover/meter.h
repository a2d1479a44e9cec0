/* SPDX-License-Identifier: MIT */
/*
 * What the mover counts, for those who watch many machines for a long time: plain numbers of fixed size, handed to the
 * front as a whole on a shelf, so that those of one look belong together. Nothing is decided by them.
 *
 * All begin at 0 with the daemon and only grow, but for what is said otherwise.
 */
#ifndef TD_DAEMON_MOVER_METER_H
#define TD_DAEMON_MOVER_METER_H

#include <stdbool.h>
#include <stdint.h>

#include "core/core.h"
#include "daemon/scribe/shelf.h"

/* More than any cause's number. */
enum { TD_METER_CAUSES = 128 };

/*
 * Bounds of the histogram of stops, in microseconds: X(bound). A stop that takes as long as a bound counts below it.
 * The last is what the guard bears (R16). The steps, about two and a half each, are our own choice, no source.
 */
#define TD_METER_BOUND_TABLE(X)                                                                              \
	X(100) X(250) X(500) X(1000) X(2500) X(5000) X(10000) X(25000) X(50000) X(100000)

enum {
#define TD_X(bound_us) TD_METER_BOUND_##bound_us,
	TD_METER_BOUND_TABLE(TD_X)
#undef TD_X
		TD_METER_BOUNDS
};

/* What is on the shelf. */
struct td_meter {
	uint64_t news[TD_METER_CAUSES]; /* of any kind, by cause */
	uint32_t trips[TD_AXES_MAX][TD_METER_CAUSES];
	uint64_t pulses[TD_SWITCHES_MAX]; /* active pulses too short to stop anything (R2) */
	/* Stops by how long they took: up to each bound but beyond the one before; the last beyond them all. */
	uint64_t stops[TD_METER_BOUNDS + 1];
	td_ns stops_ns; /* all of them together */
	td_ns run_ns[TD_AXES_MAX][TD_WAYS];
	uint32_t starts[TD_AXES_MAX][TD_WAYS];
	td_ns life_run_ns[TD_AXES_MAX][TD_WAYS]; /* ever; survives restarts */
	uint32_t life_starts[TD_AXES_MAX][TD_WAYS];
	struct td_duty duty[TD_AXES_MAX]; /* R12, as of the last change between powered and resting */
};

struct td_metering {
	struct td_shelf *shelf; /* of struct td_meter; NULL: nobody wants to know */
	bool changed;
	td_ns laid_ns;
	struct td_meter meter;
	struct td_wear before[TD_AXES_MAX]; /* the daemon began with this */
	uint32_t pulses[TD_SWITCHES_MAX];   /* as the core last had them */
};

/* While anything is powered, so often. */
#define TD_METER_EVERY_NS TD_MS(250)

/* The i-th bound; i < TD_METER_BOUNDS. */
uint32_t td_meter_bound_us(unsigned i);

/* `core` as it is before its first step. */
void td_meter_init(struct td_metering *metering, struct td_shelf *shelf, const struct td_core *core);

/* A step of the core that gave `result`. */
void td_meter_step(struct td_metering *metering, const struct td_core *core, const struct td_result *result);

/* Outputs were cleared `span_ns` after the event that demanded it. */
void td_meter_stop(struct td_metering *metering, td_ns span_ns);

/* Lays the numbers where others can look, if there is anything new to see. */
void td_meter_show(struct td_metering *metering, const struct td_core *core, uint8_t axes, uint32_t written);

#endif
