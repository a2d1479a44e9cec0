/* SPDX-License-Identifier: MIT */
/*
 * What happened last, in memory: a trip's file is written from here when its time is over, for nobody knows before a
 * trip that it will come. Bounded: the oldest make room for the newest.
 */
#ifndef TD_DAEMON_ARCHIVE_MEMORY_H
#define TD_DAEMON_ARCHIVE_MEMORY_H

#include <stdbool.h>

#include "trace/entry.h"

enum {
	TD_MEMORY_ENTRIES = 16384, /* four minutes of a machine whose every axis runs */
	TD_MEMORY_SNAPSHOTS = 12,
};

/* Snapshots come every ten seconds, and after each loss. Of those between two that are so close the later goes, so
 * that many losses do not shorten the time the snapshots reach back: 80 s at least. */
#define TD_MEMORY_CLOSE_NS TD_S(15)

/* All zero is an empty one. */
struct td_memory {
	uint64_t begin, end; /* the entries at these positions are here; positions are never used again */
	uint64_t whole_from; /* of every entry with this number or a later one nothing has made room */
	unsigned int snapshots;
	struct td_snapshot snapshot[TD_MEMORY_SNAPSHOTS]; /* by number */
	struct td_entry entry[TD_MEMORY_ENTRIES];
};

static inline bool td_entry_numbered(const struct td_entry *entry)
{
	return entry->kind == TD_ENTRY_STEP || entry->kind == TD_ENTRY_NEWS;
}

void td_memory_put(struct td_memory *memory, const struct td_entry *entry);

/* One that is older than the newest is left out. */
void td_memory_put_snapshot(struct td_memory *memory, const struct td_snapshot *snapshot);

/* The entry at a position of begin ... end - 1. */
const struct td_entry *td_memory_at(const struct td_memory *memory, uint64_t position);

/* The snapshot before exactly the entry with that number; NULL where there is none. */
const struct td_snapshot *td_memory_snapshot(const struct td_memory *memory, uint64_t number);

/* Where to begin in order to tell what was before the entry with that number: the newest snapshot no later than
 * `at_ns`, or the oldest there is; NULL where there is none, or its entries have made room. */
const struct td_snapshot *td_memory_snapshot_before(const struct td_memory *memory, uint64_t number,
						    td_ns at_ns);

#endif
