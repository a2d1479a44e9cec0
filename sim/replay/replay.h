/* SPDX-License-Identifier: MIT */
/*
 * Feeds the events of a trace to the core of this build and compares, step for step, what comes of them: outputs, the
 * answer, the news with cause and axis in order, the states of all axes, who is asked for, the filtered switches,
 * armed, latch; and at the trace's marks what is kept and shown of the core besides (td_tape_check_of()).
 *
 * A step of a trace stands where its program came to it, a little after the deadline it woke up for. So the core is stepped
 * exactly where the trace was. Only where that gives another outcome, and a deadline of this core had passed before, is it
 * stepped at its own deadlines too: what it does there is what it would have done (td_replay_step.own).
 *
 * Bounded memory, no heap, no I/O; entries may come from a file or from memory.
 */
#ifndef TD_SIM_REPLAY_H
#define TD_SIM_REPLAY_H

#include <stdbool.h>
#include <stdint.h>

#include "config/config.h"
#include "core/keep.h"
#include "trace/entry.h"

enum { TD_REPLAY_BEFORE = 10, TD_REPLAY_NEWS_MAX = UINT8_MAX };

_Static_assert((int)TD_NEWS_MAX <= (int)TD_REPLAY_NEWS_MAX, "the news of a step fit into a trace");

/* X(IDENT, "what it is called"): what is compared. */
#define TD_REPLAY_PART_TABLE(X)                                                                              \
	X(OUTPUTS, "outputs")                                                                                \
	X(ANSWER, "answer")                                                                                  \
	X(NEWS, "news")                                                                                      \
	X(STATES, "states")                                                                                  \
	X(ASKED, "held ways")                                                                                \
	X(ACTIVE, "active switches")                                                                         \
	X(ARMED, "armed")                                                                                    \
	X(LATCH, "latched stop")                                                                             \
	X(CHECK, "mark")

#define TD_X(ident, name) TD_REPLAY_PART_##ident,
enum td_replay_part { TD_REPLAY_PART_TABLE(TD_X) TD_REPLAY_PARTS };
#undef TD_X

struct td_replay_said {
	uint8_t cause; /* enum td_cause */
	uint8_t axis;
};

/* A step and what came of it: in the trace, or of this core. */
struct td_replay_step {
	td_ns file_ns;
	bool own;               /* no event of the trace, but a deadline of this core */
	uint32_t levels_before; /* electrical */
	uint32_t outputs_before;
	struct td_entry_step step;
	uint16_t said;
	struct td_replay_said news[TD_REPLAY_NEWS_MAX];
};

/* One of the events before a difference. */
struct td_replay_moment {
	uint32_t kind; /* enum td_entry_kind: STEP, SESSION, REFUSED */
	uint32_t more; /* so many renewals of the same hold are told as one, this one and those before */
	struct td_replay_step step;
	struct td_entry_session session;
};

struct td_replay_difference {
	uint32_t parts; /* bit enum td_replay_part; 0 = there is none */
	int64_t step;   /* number of the step in the trace, from 1; of a mark that of the step before it */
	struct td_replay_step trace;
	struct td_replay_step mine;
	bool acted; /* `own` tells of a step at a deadline of this core, before `trace` */
	struct td_replay_step own;
	uint8_t before; /* moments used, the oldest first */
	struct td_replay_moment moment[TD_REPLAY_BEFORE];
};

struct td_replay_tally {
	int64_t steps;      /* of the trace */
	int64_t compared;   /* of them */
	int64_t news;       /* pieces of news in those */
	int64_t checks;     /* marks compared */
	int64_t differ;     /* steps and marks that differ */
	int64_t lost;       /* entries that are missing; nothing after the first gap is compared */
	td_ns lost_file_ns; /* where the first gap is */
	bool synced;        /* comparing has begun */
	td_ns sync_file_ns; /* where */
};

/* Hears of every step of this core, as the mover's entries would tell it. Any may be NULL; 0 = go on. */
struct td_replay_tap {
	void *ctx;
	int (*entry)(void *ctx, const struct td_entry *entry);
	int (*check)(void *ctx, const struct td_core *core, uint64_t number);
};

struct td_replay_setup {
	const struct td_config *config; /* names, and the rules this core runs by; must outlive the replay */
	const struct td_snapshot *snapshot; /* the core at the first moment; NULL: only the record is known */
	const struct td_keep *keep;         /* then this, on the clock of the core */
	td_ns begin_ns;
	uint64_t first_number;
	uint32_t levels;
	bool other_rules; /* the trace was made by other rules: its marks are not compared */
	const struct td_replay_tap *tap;
};

struct td_replay {
	const struct td_config *config;
	struct td_replay_tap tap;
	bool other_rules;
	bool from_record;
	bool stopped; /* the tap wanted no more */
	td_ns begin_ns;
	uint64_t number; /* of the next entry of this core */
	uint32_t levels; /* electrical, as last given to the core */
	uint32_t outputs;
	td_ns deadline_ns;
	struct td_core core;
	struct td_core before; /* for another try */
	struct td_result result;
	bool waiting; /* `trace` is a step whose news are not all there yet */
	struct td_replay_step trace;
	struct td_replay_step mine;
	struct td_replay_step own;
	bool acted;
	bool has_last; /* until comparing begins: `last` is the step before `trace` */
	struct td_entry_step last;
	uint32_t trace_levels;
	uint32_t trace_outputs;
	uint8_t moments; /* a ring */
	uint8_t newest;
	struct td_replay_moment moment[TD_REPLAY_BEFORE];
	struct td_replay_tally tally;
	struct td_replay_difference first;
};

void td_replay_begin(struct td_replay *replay, const struct td_replay_setup *setup);

/* The next entry of the trace; `file_ns` is where it stands, for people. 0, or -1 where the tap wants no more. */
int td_replay_entry(struct td_replay *replay, td_ns file_ns, const struct td_entry *entry);
int td_replay_check(struct td_replay *replay, td_ns file_ns, uint32_t check);
int td_replay_lost(struct td_replay *replay, td_ns file_ns, uint32_t lost);

/* After the last entry. `cut_off`: the end of the trace is missing, so that a step that has not all its news counts
 * for nothing. */
int td_replay_end(struct td_replay *replay, bool cut_off);

#endif
