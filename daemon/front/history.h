/* SPDX-License-Identifier: MIT */
/*
 * What happened since the start of the daemon, numbered, as far as it is kept: of each kind of causes the newest few
 * hundred. So a flood of refusals pushes out refusals and nothing else; a trip stays until that many trips have followed it.
 *
 * This is what a follower resumes from, and also what one that reads slowly is told from: nothing is copied for it.
 * Pure; time is an argument; nothing here fails.
 */
#ifndef TD_DAEMON_FRONT_HISTORY_H
#define TD_DAEMON_FRONT_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/cause.h"
#include "core/time.h"
#include "daemon/msg.h"

enum {
	TD_HISTORY_KEPT = 512, /* of each kind; our own choice, no source */
	TD_HISTORY_KINDS = TD_KIND_NOTE + 1,
};

struct td_happening {
	int64_t n; /* 1 is the first of this daemon's life */
	td_ns at_ns;
	struct td_note_news news;
};

/* Those of one kind, oldest first from `first` on. */
struct td_history_ring {
	size_t first;
	size_t count;
	int64_t gone; /* number of the newest that is no longer kept; 0 = there is none */
	struct td_happening kept[TD_HISTORY_KEPT];
};

/* All zero is an empty one. */
struct td_history {
	int64_t last; /* number of the newest; 0 = nothing happened yet */
	struct td_history_ring ring[TD_HISTORY_KINDS];
};

/* What somebody can no longer be told of. */
struct td_history_missed {
	int64_t count;
	bool of[TD_HISTORY_KINDS];
};

/* Keeps it under the next number; the place is valid until the next one is added. */
const struct td_happening *td_history_add(struct td_history *history, td_ns at_ns,
					  const struct td_note_news *news);

/* The oldest kept one with a number above `n`; NULL if there is none. Valid until the next one is added. */
const struct td_happening *td_history_after(const struct td_history *history, int64_t n);

/* The newest kept one of a kind that concerns `axis`; NULL if there is none. Valid as above. */
const struct td_happening *td_history_newest(const struct td_history *history, enum td_cause_kind kind,
					     uint8_t axis);

/* What of those with a number above `n` (0 ... last) is no longer kept. */
struct td_history_missed td_history_missed(const struct td_history *history, int64_t n);

/* Every one of such a kind is told to every follower: stops, trips, and what concerns the whole machine (latches, resets).
 * Of the others a follower that reads slowly misses some; the state tells what came of them. */
bool td_history_lasts(enum td_cause_kind kind);

/* The number of the newest of a kind that lasts which is no longer kept; 0 = all are. */
int64_t td_history_lost(const struct td_history *history);

#endif
