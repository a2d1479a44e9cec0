/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/archive.h"

#include <stdlib.h>

#include "daemon/scribe/archive_parts.h"

struct td_archive *td_archive_open(const struct td_archive_setup *setup, const struct td_disk *disk,
				   td_ns now_ns, struct td_error *err)
{
	struct td_archive *archive = calloc(1, sizeof(*archive));

	if (!archive) {
		(void)td_error_set(err, "no memory for the traces");
		return NULL;
	}
	archive->setup = *setup;
	archive->disk = disk;
	archive->now_ns = now_ns;
	td_archive_budget_tend(archive);
	(void)td_archive_home_ready(archive);
	return archive;
}

void td_archive_snapshot(struct td_archive *archive, const struct td_snapshot *snapshot)
{
	td_memory_put_snapshot(&archive->memory, snapshot);
}

/* False where it is none that can come next. */
static bool count(struct td_archive *archive, const struct td_entry *entry)
{
	if (!td_entry_numbered(entry))
		return true;
	if (entry->number < archive->next)
		return false;
	archive->tally.lost += entry->number - archive->next;
	archive->next = entry->number + 1;
	return true;
}

void td_archive_entry(struct td_archive *archive, const struct td_entry *entry)
{
	if (!count(archive, entry)) {
		archive->tally.unwritten++;
		return;
	}
	td_memory_put(&archive->memory, entry);
	td_archive_run_entry(archive, entry);
	td_archive_trip_entry(archive, entry);
}

void td_archive_tend(struct td_archive *archive, td_ns now_ns)
{
	if (now_ns > archive->now_ns)
		archive->now_ns = now_ns;
	td_archive_budget_tend(archive);
	(void)td_archive_home_ready(archive);
	if (archive->home.unsynced)
		(void)td_archive_home_sync(archive);
	td_archive_run_tend(archive);
	td_archive_trip_tend(archive);
}

struct td_archive_tally td_archive_tally(const struct td_archive *archive)
{
	struct td_archive_tally tally = archive->tally;

	tally.bytes_today = archive->budget.spent[TD_FILES_RUN] + archive->budget.spent[TD_FILES_TRIP];
	return tally;
}

void td_archive_close(struct td_archive *archive, td_ns now_ns)
{
	if (!archive)
		return;
	if (now_ns > archive->now_ns)
		archive->now_ns = now_ns;
	td_archive_trip_close(archive);
	td_archive_run_close(archive, archive->now_ns);
	if (archive->home.unsynced)
		(void)td_archive_home_sync(archive);
	free(archive);
}
