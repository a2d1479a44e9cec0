/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "daemon/scribe/archive_parts.h"

/* --- what is a trip ------------------------------------------------------------------------------ */

/* What breaks a rule is one even if every axis has tripped before and nothing is left to tell. */
static enum td_cause trip_of(const struct td_entry *entry)
{
	if (entry->kind == TD_ENTRY_STEP && entry->as.step.event.kind == TD_EVENT_BREACH)
		return TD_CAUSE_INTERNAL;
	if (entry->kind == TD_ENTRY_NEWS && td_cause_kind(entry->as.news.cause) == TD_KIND_TRIP)
		return entry->as.news.cause;
	return TD_CAUSE_NONE;
}

static void drop_first(struct td_archive_trips *trips)
{
	trips->count--;
	memmove(&trips->due[0], &trips->due[1], trips->count * sizeof(trips->due[0]));
}

/* Another trip before the file of the last one has ended belongs into it, and the file ends later. */
static bool join(struct td_archive_trips *trips, const struct td_archive_due *due)
{
	struct td_archive_due *last = trips->count > 0 ? &trips->due[trips->count - 1] : NULL;

	if (!last || due->at_ns > last->until_ns ||
	    due->at_ns >= td_time_after(last->at_ns, TD_ARCHIVE_JOIN_NS))
		return false;
	if (due->at_ns == last->at_ns && due->cause == last->cause && due->axis != last->axis)
		last->axis = TD_NO_AXIS;
	last->until_ns = due->until_ns;
	return true;
}

void td_archive_trip_entry(struct td_archive *archive, const struct td_entry *entry)
{
	struct td_archive_trips *trips = &archive->trips;
	struct td_archive_due due = {
		.cause = trip_of(entry),
		.axis = entry->kind == TD_ENTRY_NEWS ? entry->as.news.axis : TD_NO_AXIS,
		.number = entry->number,
		.at_ns = entry->at_ns,
		.until_ns = td_time_after(entry->at_ns, TD_ARCHIVE_AFTER_NS),
	};

	if (due.cause == TD_CAUSE_NONE)
		return;
	archive->run.hurry = true;
	if (join(trips, &due))
		return;
	if (trips->count == TD_ARCHIVE_DUE_MAX) {
		archive->tally.trips_left_out++;
		drop_first(trips);
	}
	trips->due[trips->count++] = due;
}

/* --- its file ------------------------------------------------------------------------------------ */

static void about_text(const struct td_archive *archive, const struct td_archive_due *due, char *text,
		       size_t size)
{
	const struct td_config *config = archive->setup.config;

	(void)snprintf(text, size, "%s-%s",
		       due->axis < config->axes ? config->axis[due->axis].name : "machine",
		       td_cause_info(due->cause)->name);
}

/* From where on, by position; memory->end where nothing of it is there. */
static uint64_t first_of(const struct td_memory *memory, uint64_t number)
{
	for (uint64_t i = memory->begin; i < memory->end; i++) {
		const struct td_entry *entry = td_memory_at(memory, i);

		if (td_entry_numbered(entry) && entry->number >= number)
			return i;
	}
	return memory->end;
}

/* `next`: the number that the next entry ought to have. Nothing can be checked right after a loss. */
static int put_entry(const struct td_memory *memory, struct td_tape *tape, const struct td_entry *entry,
		     uint64_t *next, struct td_error *err)
{
	bool follows = td_entry_numbered(entry) && entry->number == *next;
	const struct td_snapshot *here = follows ? td_memory_snapshot(memory, entry->number) : NULL;

	if (td_entry_numbered(entry))
		*next = entry->number + 1;
	if (here && td_tape_check(tape, here, err) != 0)
		return -1;
	return td_tape_put(tape, entry, err);
}

static int put_entries(const struct td_memory *memory, struct td_tape *tape, uint64_t begun, td_ns until_ns,
		       struct td_error *err)
{
	uint64_t next = begun;

	for (uint64_t i = first_of(memory, begun); i < memory->end; i++) {
		const struct td_entry *entry = td_memory_at(memory, i);

		if (entry->at_ns > until_ns && td_entry_numbered(entry))
			break;
		if (entry->at_ns <= until_ns && put_entry(memory, tape, entry, &next, err) != 0)
			return -1;
	}
	return td_tape_finish(tape, until_ns, err);
}

/* All of it, from the snapshot to its end, and then its name. */
static int write_file(struct td_archive *archive, const struct td_archive_due *due,
		      const struct td_snapshot *snapshot, struct td_error *err)
{
	struct td_stream *stream = &archive->trips.stream;
	struct td_tape_head head = td_archive_head(archive, "trip", snapshot->core.now_ns);
	struct td_tape *tape = td_tape_new(stream->file, archive->setup.config, archive->setup.config_text,
					   archive->setup.config_length, &head, snapshot, err);
	int result = tape ? put_entries(&archive->memory, tape, snapshot->number, due->until_ns, err) : -1;

	td_tape_free(tape);
	if (result == 0)
		result = td_stream_name(stream);
	if (result == 0)
		(void)td_stream_close(stream); /* all of it is on the disk */
	else
		td_stream_drop(stream);
	return result;
}

static int open_file(struct td_archive *archive, const struct td_archive_due *due)
{
	struct td_archive_trips *trips = &archive->trips;
	struct td_files_view view[TD_FILES_KINDS];
	char about[2 * TD_NAME_MAX + 1];
	char name[TD_FILES_NAME_MAX];

	trips->stream.why = 0;
	if (td_files_look(archive->setup.dir, archive->budget.day, view) != 0)
		return -1;
	if (view[TD_FILES_TRIP].highest > trips->number)
		trips->number = view[TD_FILES_TRIP].highest;
	about_text(archive, due, about, sizeof(about));
	td_files_name(TD_FILES_TRIP, trips->number + 1, about, name);
	return td_stream_open(&trips->stream, archive->disk, archive->setup.dir, name,
			      &archive->budget.spent[TD_FILES_TRIP],
			      td_archive_budget_left(archive, TD_FILES_TRIP));
}

/* --- when it is written -------------------------------------------------------------------------- */

static void written(struct td_archive *archive)
{
	struct td_archive_trips *trips = &archive->trips;

	trips->number++;
	archive->tally.trips++;
	drop_first(trips);
	td_trouble_over(&trips->trouble, trips->stream.path);
	(void)td_archive_home_sync(archive);
	(void)td_files_prune(archive->disk, archive->setup.dir, TD_FILES_TRIP, TD_ARCHIVE_TRIPS_MAX,
			     INT64_MAX, trips->number);
}

static void leave_out(struct td_archive *archive)
{
	archive->tally.trips_left_out++;
	drop_first(&archive->trips);
}

static void refused(struct td_archive *archive, const char *why)
{
	struct td_archive_trips *trips = &archive->trips;

	if (trips->stream.why != 0)
		why = strerror(trips->stream.why);
	(void)td_trouble_met(&trips->trouble, archive->now_ns, archive->setup.dir, why);
	archive->home.ready = false;
}

/* The first of those that wait. True where the next one may follow. */
static bool write_first(struct td_archive *archive)
{
	const struct td_archive_due due = archive->trips.due[0];
	const struct td_snapshot *snapshot = td_memory_snapshot_before(
		&archive->memory, due.number, td_time_between(TD_ARCHIVE_BEFORE_NS, due.at_ns));
	struct td_error err = {""};

	if (!snapshot) {
		leave_out(archive); /* too much has happened since to remember it */
		return true;
	}
	if (!td_archive_home_ready(archive))
		return false;
	if (open_file(archive, &due) != 0) {
		refused(archive, strerror(errno));
		return false;
	}
	if (write_file(archive, &due, snapshot, &err) != 0) {
		if (!archive->trips.stream.too_much) {
			refused(archive, err.text);
			return false;
		}
		td_archive_budget_spent(archive, TD_FILES_TRIP);
		leave_out(archive);
		return true;
	}
	written(archive);
	return true;
}

void td_archive_trip_tend(struct td_archive *archive)
{
	struct td_archive_trips *trips = &archive->trips;

	while (trips->count > 0 && archive->now_ns >= trips->due[0].until_ns &&
	       td_trouble_lets(&trips->trouble, archive->now_ns))
		if (!write_first(archive))
			return;
}

void td_archive_trip_close(struct td_archive *archive)
{
	struct td_archive_trips *trips = &archive->trips;

	for (unsigned int i = 0; i < trips->count; i++) {
		struct td_archive_due *due = &trips->due[i];

		if (archive->now_ns < due->at_ns)
			archive->now_ns = due->at_ns;
		if (due->until_ns > archive->now_ns)
			due->until_ns = archive->now_ns;
	}
	archive->home.trouble.next_ns = 0;
	trips->trouble.next_ns = 0;
	td_archive_trip_tend(archive);
	archive->tally.trips_left_out += trips->count;
}
