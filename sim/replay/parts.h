/* SPDX-License-Identifier: MIT */
/* Inside of sim/replay: the core of this build, stepped; and what is remembered for a difference. */
#ifndef TD_SIM_REPLAY_PARTS_H
#define TD_SIM_REPLAY_PARTS_H

#include "sim/replay/replay.h"

/* --- run.c --- */

/* The core at the first moment; replay->deadline_ns is known then. */
void td_replay_start(struct td_replay *replay, const struct td_replay_setup *setup);

/* As a trace says it: whatever concerns no single axis concerns none. */
struct td_replay_said td_replay_said_of(const struct td_news *news);

/* One event; what came of it is in *out. */
void td_replay_run(struct td_replay *replay, const struct td_event *event, td_ns file_ns,
		   struct td_replay_step *out);

/* The step before counts, and the tap hears of it. */
void td_replay_keep(struct td_replay *replay, const struct td_replay_step *step);

/* What follows may be undone; and it is, as if it had not been, where nothing of it was kept. */
void td_replay_try(struct td_replay *replay);
void td_replay_undo(struct td_replay *replay);

/* Everything that this core does at its own deadlines before `until_ns`; the first step that shows is in replay->own. */
void td_replay_act(struct td_replay *replay, td_ns until_ns);

/* --- compare.c --- */

/* Bit enum td_replay_part. */
uint32_t td_replay_compare(const struct td_replay_step *trace, const struct td_replay_step *mine);

/* Everything off, at rest, nobody asks, nothing latched or tripped: in the trace and here. */
bool td_replay_idle(const struct td_replay *replay);

/* --- moment.c --- */

/* Steps of time in which nothing happened are passed over, renewals of a hold are one. */
void td_replay_remember_step(struct td_replay *replay, const struct td_replay_step *step);
void td_replay_remember_client(struct td_replay *replay, td_ns file_ns, const struct td_entry *entry);

/* What is remembered, the oldest first. */
void td_replay_recall(const struct td_replay *replay, struct td_replay_difference *difference);

#endif
