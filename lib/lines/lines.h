/* SPDX-License-Identifier: MIT */
/*
 * The GPIO seam: one small interface between the mover and whatever carries the levels. Backends:
 * bench (a plant in another process), libgpiod 2, libgpiod 1.6.
 *
 * Words of levels: outputs use bit axis * 2 + way (1 = bridge input high); inputs use bit i for switch
 * i (1 = electrically high). Contact kind is the core's business, not the backend's.
 *
 * After open nothing here allocates or blocks. Calls come from one thread.
 */
#ifndef TD_LINES_LINES_H
#define TD_LINES_LINES_H

#include <stdbool.h>
#include <stdint.h>

#include "core/time.h"
#include "error.h"

enum { TD_LINES_FDS_MAX = 8 };

/* Results of calls after open: 0 or a count is success, else one of these. All of them mean "broken,
 * trip" (R15); they are told apart for the message. */
enum td_lines_error {
	TD_LINES_GONE = -1,   /* the chip or the board has gone away */
	TD_LINES_FAILED = -2, /* the read or write was refused, or its answer makes no sense */
	TD_LINES_STUCK = -3,  /* it would have blocked */
};

/* One edge of one switch line. Edges only wake us; levels decide. */
struct td_lines_edge {
	td_ns at_ns; /* kernel's CLOCK_MONOTONIC time stamp */
	uint8_t sw;
	uint8_t high; /* level after the edge */
	uint8_t lost; /* not 0: at least one edge before this one was lost; re-read levels */
};

struct td_lines;

struct td_lines_ops {
	/* Makes outputs equal to `levels` in the lines of `mask`; every line that goes low is written
	 * before any line that goes high. Bits outside the requested outputs are not set in `mask`.
	 * 0 or td_lines_error. */
	int (*set)(struct td_lines *lines, uint32_t mask, uint32_t levels);
	/* Reads the levels of all switch lines into *levels. 0 or td_lines_error. */
	int (*get)(struct td_lines *lines, uint32_t *levels);
	/* Takes the next edge, if any: 1 = taken, 0 = none, or td_lines_error. */
	int (*next_edge)(struct td_lines *lines, struct td_lines_edge *edge);
	/* Descriptors that become readable when an edge came or the board went away (POLLHUP too).
	 * Returns how many were written to fds, at most TD_LINES_FDS_MAX. */
	int (*fds)(struct td_lines *lines, int fds[TD_LINES_FDS_MAX]);
	/* Makes the heartbeat line high or low. NULL, or not to be called, where `beats` is false. 0 or
	 * td_lines_error. */
	int (*beat)(struct td_lines *lines, int high);
	/* For a forked child that must not hold the lines: closes its descriptors, touches no level. */
	void (*abandon)(struct td_lines *lines);
	/* Clears all outputs and the heartbeat, releases the lines, frees *lines. */
	void (*close)(struct td_lines *lines);
};

struct td_lines {
	const struct td_lines_ops *ops;
	uint32_t outputs; /* mask of the requested outputs */
	uint32_t inputs;  /* mask of the requested switch lines */
	bool beats;       /* a heartbeat line was requested, low */
};

/* Makes every output low, and the heartbeat with them: the first error, but all is tried. */
static inline int td_lines_all_low(struct td_lines *lines)
{
	int result = lines->ops->set(lines, lines->outputs, 0);
	int beat = lines->beats ? lines->ops->beat(lines, 0) : 0;

	return result ? result : beat;
}

/* --- bench ------------------------------------------------------------------------------------ */

/* Connects to the board of a plant (see lib/lines/board.h) at the Unix socket `path` and requests
 * `outputs` (all low, in the request itself) and `inputs`. NULL with a sentence in *err on failure:
 * nobody listens, another daemon holds the board, or the board does not speak our version.
 * Blocks at most 1 s. */
struct td_lines *td_lines_bench_open(const char *path, uint32_t outputs, uint32_t inputs,
				     struct td_error *err);

#endif
