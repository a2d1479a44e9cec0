/* SPDX-License-Identifier: MIT */
/*
 * The way of entries to the scribe: a ring in memory that two processes share, one writer, one reader. Putting never
 * waits: what does not fit is dropped by the writer, who numbers entries so that the gap shows.
 */
#ifndef TD_DAEMON_QUEUE_H
#define TD_DAEMON_QUEUE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#include "error.h"
#include "trace/entry.h"

enum {
	TD_QUEUE_STEPS =
		8192, /* the mover's: a minute of driving two axes; far less while somebody floods it */
	TD_QUEUE_CLIENTS = 256, /* the front's */
};

struct td_queue {
	uint64_t size;         /* of `entry`, a power of two */
	_Atomic uint64_t put;  /* ever, by the writer */
	uint8_t apart[64];     /* the two counters on cache lines of their own */
	_Atomic uint64_t left; /* ever taken out, by the reader */
	struct td_entry entry[];
};

/* Made before the fork, the same for both; `size` is a power of two. NULL with a sentence. Lives as long as the process. */
struct td_queue *td_queue_make(uint64_t size, struct td_error *err);

/* How much memory it is, as td_shared_bytes() gave it. */
size_t td_queue_bytes(const struct td_queue *queue);

/* The writer's: for how many entries there is room now; it can only grow until the next one is put. */
uint64_t td_queue_room(struct td_queue *queue);

/* The writer's: a copy of *entry. False where there is no room, and nothing happened. */
bool td_queue_put(struct td_queue *queue, const struct td_entry *entry);

/* The reader's: the oldest entry, NULL if there is none; it stays where it is until td_queue_drop(). */
const struct td_entry *td_queue_first(struct td_queue *queue);
void td_queue_drop(struct td_queue *queue);

#endif
