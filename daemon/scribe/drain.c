/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/drain.h"

#include <string.h>

#include "daemon/clock.h"

void td_drain_init(struct td_drain *drain, const struct td_shared *shared, struct td_archive *archive)
{
	memset(drain, 0, sizeof(*drain));
	drain->shared = shared;
	drain->archive = archive;
}

/* The older of the two that are first; NULL if there is none. A client that was quicker than the core's first step waits
 * for it, for a trace begins there. */
static struct td_queue *next_queue(struct td_drain *drain)
{
	const struct td_shared *shared = drain->shared;
	const struct td_entry *step = td_queue_first(shared->steps);
	const struct td_entry *client = td_queue_first(shared->clients);

	drain->begun = drain->begun || step;
	if (!client || !drain->begun)
		return step ? shared->steps : NULL;
	/* News stay with their step. */
	if (step && (step->kind == TD_ENTRY_NEWS || step->number == 0 || step->at_ns < client->at_ns))
		return shared->steps;
	return shared->clients;
}

static void fill(struct td_drain *drain)
{
	struct td_queue *queue;

	drain->count = 0;
	while (drain->count < TD_DRAIN_MAX && (queue = next_queue(drain))) {
		drain->batch[drain->count++] = *td_queue_first(queue);
		td_queue_drop(queue);
	}
}

static void to_diary(struct td_drain *drain)
{
	struct td_diary_clock clock = td_diary_clock_now();

	for (unsigned i = 0; i < drain->count; i++)
		drain->lost += td_diary_entry(&drain->diary, &drain->batch[i], clock);
}

static void look_for_snapshot(struct td_drain *drain)
{
	if (!drain->waits)
		drain->waits = td_shelf_take(drain->shared->snapshots, &drain->taken, &drain->snapshot);
}

/* One that belongs before an entry that was passed already is of no use: a newer one was laid meanwhile. */
static void offer_snapshot(struct td_drain *drain, uint64_t number)
{
	look_for_snapshot(drain);
	while (drain->waits && drain->snapshot.number <= number) {
		if (drain->snapshot.number == number)
			td_archive_snapshot(drain->archive, &drain->snapshot);
		drain->waits = false;
		look_for_snapshot(drain);
	}
}

static void to_archive(struct td_drain *drain)
{
	for (unsigned i = 0; i < drain->count; i++) {
		const struct td_entry *entry = &drain->batch[i];

		if (entry->kind == TD_ENTRY_STEP)
			offer_snapshot(drain, entry->number);
		td_archive_entry(drain->archive, entry);
	}
	td_archive_tend(drain->archive, td_clock_now());
}

static void tell(const struct td_drain *drain, struct td_tally *tally)
{
	struct td_archive_tally of_archive = {0};

	if (drain->archive)
		of_archive = td_archive_tally(drain->archive);
	atomic_store(&tally->lost, drain->lost);
	atomic_store(&tally->unwritten, of_archive.unwritten);
	atomic_store(&tally->trips, of_archive.trips);
	atomic_store(&tally->bytes_today, of_archive.bytes_today);
}

bool td_drain_some(struct td_drain *drain)
{
	fill(drain);
	to_diary(drain);
	if (drain->archive)
		to_archive(drain);
	tell(drain, drain->shared->tally);
	return drain->count > 0;
}
