/* SPDX-License-Identifier: MIT */
/*
 * The scribe: the one process that waits for the disk so that no other has to. It writes the newest record from the
 * shelf, at most every TD_RECORD_EVERY_NS, and once more when the mover has ended.
 */
#ifndef TD_DAEMON_SCRIBE_H
#define TD_DAEMON_SCRIBE_H

#include "daemon/scribe/shelf.h"

/* Returns when the other end of `life_fd` is closed. What the disk refuses is told once on stderr and tried again. */
void td_scribe_run(const char *state_dir, struct td_shelf *shelf, int life_fd);

#endif
