/* SPDX-License-Identifier: MIT */
/*
 * The guard (R16): a process that shares the output lines with the mover and does one thing. When the
 * mover is gone, or silent for too long while an output is high, the guard clears every output, kills the
 * mover and ends. It runs at a higher priority than the mover, so that a spinning mover cannot starve it.
 */
#ifndef TD_DAEMON_GUARD_H
#define TD_DAEMON_GUARD_H

#include <sys/types.h>

#include "core/time.h"
#include "lines/lines.h"

/* The mover speaks at least every 50 ms while an output is high (the largest poll). All must be off 100 ms after it
 * has stopped to: what is left of that is for waking up and writing. */
#define TD_GUARD_SILENCE_NS TD_MS(80)

/* A guard that has not read for so long is deaf, and the mover ends: a little sooner, for the mover looks at most every
 * poll. */
#define TD_GUARD_DEAF_NS TD_MS(75)

enum { TD_GUARD_PRIORITY = 21 };

enum td_guard_end {
	TD_GUARD_DONE = 0,  /* the mover ended with every output low */
	TD_GUARD_ACTED = 1, /* it had to clear outputs and kill the mover */
	TD_GUARD_BLIND = 2, /* it could not wait or could not clear: said on standard error */
};

/* Runs in the forked child until the pulse ends. `lines` is shared with the mover and must have been requested
 * before the fork; `mover` is the process to kill. Never blocks longer than it waits for a pulse. */
enum td_guard_end td_guard_run(struct td_lines *lines, int pulse_fd, pid_t mover);

#endif
