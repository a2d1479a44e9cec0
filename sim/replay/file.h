/* SPDX-License-Identifier: MIT */
/* One trace of ours from a file: played to the core, told, and what the core does written as a trace. */
#ifndef TD_SIM_REPLAY_FILE_H
#define TD_SIM_REPLAY_FILE_H

#include <stdio.h>

#include "config/config.h"
#include "error.h"

struct td_replay_order {
	const char *shown_as;
	const struct td_config *config; /* instead of the embedded one; NULL: that one */
	const char *config_path;        /* where it was read from; for people */
	const char *config_text;        /* the file, terminated */
	size_t config_length;
	bool from_record;
	const char *out_path; /* NULL: nothing is written */
};

/* FOREIGN: a value change dump, but none of ours. UNUSABLE comes with a sentence. */
enum td_replay_verdict {
	TD_REPLAY_SAME = 0,
	TD_REPLAY_DIFFERENT,
	TD_REPLAY_UNUSABLE,
	TD_REPLAY_FOREIGN,
};

/* Reads `in` to its end and tells what came of it on `told`. */
enum td_replay_verdict td_replay_file(FILE *in, const struct td_replay_order *order, FILE *told,
				      struct td_error *err);

#endif
