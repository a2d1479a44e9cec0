/* SPDX-License-Identifier: MIT */
/*
 * From the shared memory to log and archive: entries of mover and front in the order of their times, and snapshots of the
 * core right before the entry that they belong to.
 */
#ifndef TD_DAEMON_DRAIN_H
#define TD_DAEMON_DRAIN_H

#include "daemon/scribe/archive.h"
#include "daemon/scribe/diary.h"
#include "daemon/scribe/shared.h"

enum { TD_DRAIN_MAX = 1024 };

struct td_drain {
	const struct td_shared *shared;
	struct td_archive *archive; /* NULL: nothing is kept */
	struct td_diary diary;
	uint64_t lost;
	bool begun;     /* the core has stepped */
	uint32_t taken; /* snapshots */
	bool waits;     /* `snapshot` was taken, and the entry it belongs before has not come yet */
	struct td_snapshot snapshot;
	unsigned count;
	struct td_entry batch[TD_DRAIN_MAX];
};

/* All but the diary, which is the caller's to make. */
void td_drain_init(struct td_drain *drain, const struct td_shared *shared, struct td_archive *archive);

/* Takes what is there, TD_DRAIN_MAX entries at most: the log first, which frees their room, then the archive, which may
 * wait long; does what is due there, and updates the tally. True if there was anything. */
bool td_drain_some(struct td_drain *drain);

#endif
