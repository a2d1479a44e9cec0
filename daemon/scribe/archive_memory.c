/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/archive_memory.h"

#include <string.h>

const struct td_entry *td_memory_at(const struct td_memory *memory, uint64_t position)
{
	return &memory->entry[position % TD_MEMORY_ENTRIES];
}

static void make_room(struct td_memory *memory)
{
	const struct td_entry *oldest = td_memory_at(memory, memory->begin);

	if (td_entry_numbered(oldest))
		memory->whole_from = oldest->number + 1;
	memory->begin++;
}

void td_memory_put(struct td_memory *memory, const struct td_entry *entry)
{
	if (memory->end - memory->begin == TD_MEMORY_ENTRIES)
		make_room(memory);
	memory->entry[memory->end++ % TD_MEMORY_ENTRIES] = *entry;
}

static void drop_oldest_snapshot(struct td_memory *memory)
{
	memory->snapshots--;
	memmove(&memory->snapshot[0], &memory->snapshot[1], memory->snapshots * sizeof(memory->snapshot[0]));
}

/* The newest goes, too, where it lies between two that are close to each other. */
static bool newest_is_one_too_many(const struct td_memory *memory, const struct td_snapshot *next)
{
	unsigned int count = memory->snapshots;

	return count >= 2 && td_time_between(memory->snapshot[count - 2].core.now_ns, next->core.now_ns) <
				     TD_MEMORY_CLOSE_NS;
}

void td_memory_put_snapshot(struct td_memory *memory, const struct td_snapshot *snapshot)
{
	unsigned int count = memory->snapshots;

	if (count > 0 && snapshot->number < memory->snapshot[count - 1].number)
		return;
	if (count > 0 && (snapshot->number == memory->snapshot[count - 1].number ||
			  newest_is_one_too_many(memory, snapshot)))
		memory->snapshots--;
	if (memory->snapshots == TD_MEMORY_SNAPSHOTS)
		drop_oldest_snapshot(memory);
	memory->snapshot[memory->snapshots++] = *snapshot;
}

const struct td_snapshot *td_memory_snapshot(const struct td_memory *memory, uint64_t number)
{
	for (unsigned int i = memory->snapshots; i > 0; i--)
		if (memory->snapshot[i - 1].number == number)
			return &memory->snapshot[i - 1];
	return NULL;
}

const struct td_snapshot *td_memory_snapshot_before(const struct td_memory *memory, uint64_t number,
						    td_ns at_ns)
{
	const struct td_snapshot *found = NULL;

	for (unsigned int i = memory->snapshots; i > 0; i--) {
		const struct td_snapshot *older = &memory->snapshot[i - 1];

		if (older->number < memory->whole_from)
			break;
		if (older->number > number)
			continue;
		found = older;
		if (older->core.now_ns <= at_ns)
			break;
	}
	return found;
}
