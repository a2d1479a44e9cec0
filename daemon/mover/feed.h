/* SPDX-License-Identifier: MIT */
/*
 * What the mover hands to the scribe for the traces: every step of the core, whole, as an entry with its news behind it,
 * and now and then the core itself. Copies bytes and waits for nothing; called when the outputs are real.
 *
 * Numbers count on whether an entry fits or not. After a gap the next entry comes right after a snapshot, so whoever
 * reads can begin anew there.
 */
#ifndef TD_DAEMON_MOVER_FEED_H
#define TD_DAEMON_MOVER_FEED_H

#include <stdbool.h>

#include "core/core.h"
#include "daemon/scribe/queue.h"
#include "daemon/scribe/shelf.h"

/* A snapshot is laid this often while there are steps. */
#define TD_FEED_SNAPSHOT_NS TD_S(10)

struct td_feed {
	struct td_queue *steps;     /* NULL: nobody wants to know */
	struct td_shelf *snapshots; /* of struct td_snapshot; goes with `steps` */
	uint64_t number;            /* of the next entry */
	bool lossy;                 /* entries were dropped, and no snapshot was laid since */
	td_ns laid_ns;
};

/* Lays the first snapshot: `core` before its first step. */
void td_feed_init(struct td_feed *feed, struct td_queue *steps, struct td_shelf *snapshots,
		  const struct td_core *core);

/* The step of `core` for `event` that gave `result`; `levels` as last given to the core. result->outputs are those the
 * core wants, even where the monitor kept them from being written (a BREACH follows then). */
void td_feed_step(struct td_feed *feed, const struct td_core *core, const struct td_rules *rules,
		  const struct td_event *event, const struct td_result *result, uint32_t levels);

#endif
