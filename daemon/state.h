/* SPDX-License-Identifier: MIT */
/*
 * What must survive a restart and a power loss (R10): whether the latched stop is on. One small text file
 * in the state directory, "latched-stop.state", with a version and a checksum; written to a second file,
 * synchronised, renamed, and the directory synchronised, so that at every instant either the old or the new
 * one is there.
 *
 * Doubt reads as "on": only a file that is byte for byte the one that says "off", or no file at all in a
 * directory that can be read (first start), means off.
 */
#ifndef TD_DAEMON_STATE_H
#define TD_DAEMON_STATE_H

#include <stdbool.h>

#include "error.h"

#define TD_STATE_FILE "latched-stop.state"

struct td_state {
	bool latched;
};

/* Reads the state from directory `dir`. 0: read, or first start. -1: damaged or unreadable; state->latched
 * is true then and *err holds a sentence. Blocks on the disk. Writes nothing. */
int td_state_load(const char *dir, struct td_state *state, struct td_error *err);

/* Writes the state; returns 0 only once it is on the disk. -1 with a sentence in *err: the old file is still
 * there, or (only if synchronising the directory failed) perhaps the new one. Blocks on the disk. */
int td_state_save(const char *dir, const struct td_state *state, struct td_error *err);

#endif
