/* SPDX-License-Identifier: MIT */
/* All the memory that processes share. Made before the fork; lives as long as the process. */
#ifndef TD_DAEMON_SHARED_H
#define TD_DAEMON_SHARED_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#include "daemon/scribe/queue.h"
#include "daemon/scribe/shelf.h"
#include "error.h"

/* Below the state directory. */
#define TD_TRACES_DIR "traces"

/* How the traces are doing, for status: written by the scribe, read by the front. All since the start, but for today's. */
struct td_tally {
	_Atomic uint64_t lost;      /* entries that found no room on their way */
	_Atomic uint64_t unwritten; /* entries that the disk refused, or that were beyond the budget */
	_Atomic uint64_t trips;     /* files of trips */
	_Atomic int64_t bytes_today;
};

struct td_shared {
	struct td_shelf *records;   /* mover -> scribe: struct td_shelf_record */
	struct td_shelf *snapshots; /* mover -> scribe: struct td_snapshot */
	struct td_queue *steps;     /* mover -> scribe: STEP, NEWS */
	struct td_queue *clients;   /* front -> scribe: SESSION, REFUSED, with numbers of their own */
	struct td_tally *tally;     /* scribe -> front */
	struct td_shelf *meters;    /* mover -> front: struct td_meter */
};

/* 0, or -1 with a sentence. */
int td_shared_make(struct td_shared *shared, struct td_error *err);

/* For the front, which talks to strangers: of all this it may write into `clients` and nothing else, may read `meters` and `tally`,
 * and has the rest no more. What it does all the same ends it. For this process alone; false if the kernel refuses. */
bool td_shared_bar_front(const struct td_shared *shared);

#endif
