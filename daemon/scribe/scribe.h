/* SPDX-License-Identifier: MIT */
/*
 * The scribe: the one process that waits for the disk so that no other has to. It takes the entries that mover and front
 * hand over, says in the log what is worth saying, and gives all of them to the archive of traces. It writes the newest
 * record from the shelf, at most every TD_RECORD_EVERY_NS. Once more it does both when the mover has ended.
 */
#ifndef TD_DAEMON_SCRIBE_H
#define TD_DAEMON_SCRIBE_H

#include "config/config.h"
#include "daemon/arming.h"
#include "daemon/scribe/shared.h"

struct td_scribe_setup {
	const struct td_config *config;
	const struct td_config_text *text; /* the configuration as it was read, for the traces */
	const struct td_arming *arming;    /* for the log */
	const struct td_shared *shared;
	int life_fd; /* its other end is the mover's */
};

/* Returns when the other end of `life_fd` is closed. What the disk refuses is told once on stderr and tried again. */
void td_scribe_run(const struct td_scribe_setup *setup);

#endif
