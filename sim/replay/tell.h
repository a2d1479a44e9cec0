/* SPDX-License-Identifier: MIT */
/* What came of a replay, told to people: the counts, and the first difference with what was before it and why. */
#ifndef TD_SIM_REPLAY_TELL_H
#define TD_SIM_REPLAY_TELL_H

#include <stdio.h>

#include "sim/replay/replay.h"
#include "trace/tape.h"

struct td_replay_account {
	const char *shown_as; /* the trace */
	struct td_tape_head head;
	struct td_tape_summary summary;
	const char *config_path; /* the configuration given beside the trace; NULL: its own */
	bool other_settings;     /* which has other settings */
	const char *config_text; /* both files, terminated, to tell which; NULL: that is not told */
	const char *trace_text;
	bool other_build; /* the bytes of the core are of another build */
	const struct td_replay *replay;
};

/* Writes all of it. */
void td_replay_tell(FILE *out, const struct td_replay_account *account);

/* Only how a difference came about: of each cause that one side has and the other has not, its rule and its sentence; where
 * causes are the same, the rules that decide what differs. */
void td_replay_tell_why(FILE *out, const struct td_replay_difference *difference);

/* "+12.250000 s" into `text`. */
enum { TD_REPLAY_TIME_MAX = 32 };
const char *td_replay_time(td_ns file_ns, char text[TD_REPLAY_TIME_MAX]);

#endif
