/* SPDX-License-Identifier: MIT */
/* What a core does in a replay, as a trace of its own. */
#ifndef TD_SIM_REPLAY_OUT_H
#define TD_SIM_REPLAY_OUT_H

#include <stdio.h>

#include "config/config.h"
#include "error.h"
#include "sim/replay/replay.h"
#include "trace/tape.h"

struct td_replay_out {
	const char *path;
	FILE *file;
	struct td_tape *tape;
	const struct td_config *config;
	td_ns last_ns; /* of the core */
	struct td_error err;
};

/* Makes the file; it begins at *snapshot. `head` gives wall clock and machine. 0, or -1 with a sentence. */
int td_replay_out_open(struct td_replay_out *out, const char *path, const struct td_config *config,
		       const char *config_text, size_t config_length, const struct td_tape_head *head,
		       const struct td_snapshot *snapshot, struct td_error *err);

/* Hears of every step. */
struct td_replay_tap td_replay_out_tap(struct td_replay_out *out);

/* Ends the file at `at_ns` of the core's clock, or where it is if that is later. What could not be written whole is taken away. 0, or -1 with a
 * sentence, also of what went wrong before. Does nothing where none was opened. */
int td_replay_out_close(struct td_replay_out *out, td_ns at_ns, struct td_error *err);

#endif
