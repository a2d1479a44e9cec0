/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "daemon/scribe/archive_parts.h"

/* After a trip what led to it should be on the disk soon: who pulls the plug then wants to know why. */
#define HURRY_NS TD_S(1)

/* Bytes that an entry and the end of a file may take. */
enum { ENTRY_MAX = 1024 };

/* A file makes room as a whole: the smaller all may be, the smaller is each. */
static int64_t file_max(const struct td_archive *archive)
{
	int64_t part = archive->setup.size_max / 4;

	return part < TD_ARCHIVE_RUN_FILE_MAX ? part : TD_ARCHIVE_RUN_FILE_MAX;
}

/* Removes the oldest files, but not the one being written, until there is room for so much more. */
static int make_room(struct td_archive *archive, int64_t more)
{
	struct td_archive_run *run = &archive->run;
	struct td_files_view view[TD_FILES_KINDS];
	const char *dir = archive->setup.dir;

	if (td_files_prune(archive->disk, dir, TD_FILES_RUN, UINT_MAX, archive->setup.size_max - more,
			   run->tape ? run->number : UINT64_MAX) != 0 ||
	    td_files_look(dir, archive->budget.day, view) != 0)
		return -1;
	if (view[TD_FILES_RUN].highest > run->number)
		run->number = view[TD_FILES_RUN].highest;
	run->others = view[TD_FILES_RUN].bytes - (run->tape ? run->stream.bytes : 0);
	return 0;
}

static void trouble(struct td_archive *archive, const char *why)
{
	struct td_archive_run *run = &archive->run;

	if (run->stream.why != 0)
		why = strerror(run->stream.why);
	(void)td_trouble_met(&run->trouble, archive->now_ns,
			     run->stream.path[0] ? run->stream.path : archive->setup.dir, why);
	archive->home.ready = false; /* perhaps it is the directory */
}

/* Everything up to the first value is on the disk before the file has its name: what has a name can be read. */
static bool begin_file(struct td_archive *archive, const struct td_snapshot *snapshot, const char **why)
{
	static struct td_error err;
	struct td_archive_run *run = &archive->run;
	struct td_tape_head head = td_archive_head(archive, "run", snapshot->core.now_ns);
	char name[TD_FILES_NAME_MAX];

	*why = NULL;
	run->stream.path[0] = '\0';
	run->stream.why = 0;
	run->stream.too_much = false;
	if (make_room(archive, file_max(archive)) != 0)
		return false;
	td_files_name(TD_FILES_RUN, ++run->number, "", name);
	if (td_stream_open(&run->stream, archive->disk, archive->setup.dir, name,
			   &archive->budget.spent[TD_FILES_RUN],
			   td_archive_budget_left(archive, TD_FILES_RUN)) != 0)
		return false;
	run->tape = td_tape_new(run->stream.file, archive->setup.config, archive->setup.config_text,
				archive->setup.config_length, &head, snapshot, &err);
	if (!run->tape)
		*why = err.text;
	if (run->tape && run->left_out > 0)
		fprintf(run->stream.file,
			"$comment\nleft out\nentries %" PRIu64 "\nbefore the first moment\n$end\n",
			run->left_out);
	if (run->tape && td_stream_name(&run->stream) == 0)
		return true;
	td_tape_free(run->tape);
	run->tape = NULL;
	td_stream_drop(&run->stream);
	return false;
}

static bool may_begin(struct td_archive *archive)
{
	const struct td_archive_run *run = &archive->run;

	return archive->setup.size_max > 0 && !archive->budget.told[TD_FILES_RUN] &&
	       td_trouble_lets(&run->trouble, archive->now_ns) && td_archive_home_ready(archive);
}

static void begin(struct td_archive *archive, const struct td_snapshot *snapshot)
{
	struct td_archive_run *run = &archive->run;
	const char *why;

	if (!may_begin(archive))
		return;
	if (td_archive_budget_left(archive, TD_FILES_RUN) == 0) {
		td_archive_budget_spent(archive, TD_FILES_RUN);
		return;
	}
	if (!begin_file(archive, snapshot, &why)) {
		if (run->stream.too_much)
			td_archive_budget_spent(archive, TD_FILES_RUN);
		else
			trouble(archive, why);
		return;
	}
	run->stream.left = INT64_MAX; /* from here on hold_bounds() looks at it, for the next day has more */
	(void)td_archive_home_sync(archive);
	run->next = snapshot->number;
	run->last_ns = snapshot->core.now_ns;
	run->left_out = 0;
	run->synced_ns = archive->now_ns;
	run->unsynced = false;
	td_trouble_over(&run->trouble, run->stream.path);
}

/* The file cannot be written any more. What is there of it stays, and is read as far as it goes. */
static void give_up(struct td_archive *archive, const char *why)
{
	struct td_archive_run *run = &archive->run;

	trouble(archive, why);
	td_tape_free(run->tape);
	run->tape = NULL;
	(void)td_stream_close(&run->stream);
	run->left_out += run->waiting;
	archive->tally.unwritten += run->waiting;
	run->waiting = 0;
}

void td_archive_run_close(struct td_archive *archive, td_ns at_ns)
{
	struct td_archive_run *run = &archive->run;
	struct td_error err;

	if (!run->tape)
		return;
	if (td_tape_finish(run->tape, at_ns > run->last_ns ? at_ns : run->last_ns, &err) != 0 ||
	    td_stream_sync(&run->stream) != 0) {
		give_up(archive, err.text);
		return;
	}
	td_tape_free(run->tape);
	run->tape = NULL;
	run->waiting = 0;
	(void)td_stream_close(&run->stream);
}

/* Here the core is as *snapshot says: a place to begin, to change files, or to check. */
static void mark(struct td_archive *archive, const struct td_snapshot *snapshot)
{
	struct td_archive_run *run = &archive->run;
	struct td_error err;

	if (run->tape && td_stream_size(&run->stream) > file_max(archive))
		td_archive_run_close(archive, snapshot->core.now_ns);
	if (!run->tape)
		begin(archive, snapshot);
	else if (td_tape_check(run->tape, snapshot, &err) != 0)
		give_up(archive, err.text);
}

static void left_out(struct td_archive *archive)
{
	if (archive->setup.size_max <= 0)
		return;
	archive->run.left_out++;
	archive->tally.unwritten++;
}

/* The file ends where the day's budget does, and where it alone would be more than all may be. */
static void hold_bounds(struct td_archive *archive)
{
	struct td_archive_run *run = &archive->run;
	int64_t waits = td_stream_size(&run->stream) - run->stream.bytes;

	if (waits + ENTRY_MAX >= td_archive_budget_left(archive, TD_FILES_RUN)) {
		td_archive_budget_spent(archive, TD_FILES_RUN);
		td_archive_run_close(archive, run->last_ns);
	} else if (td_stream_size(&run->stream) >= archive->setup.size_max) {
		td_archive_run_close(archive, run->last_ns);
	}
}

void td_archive_run_entry(struct td_archive *archive, const struct td_entry *entry)
{
	struct td_archive_run *run = &archive->run;
	bool numbered = td_entry_numbered(entry);
	const struct td_snapshot *here =
		numbered ? td_memory_snapshot(&archive->memory, entry->number) : NULL;
	struct td_error err;

	if (run->tape && numbered && entry->number != run->next)
		td_archive_run_close(archive, run->last_ns);
	if (here)
		mark(archive, here);
	if (!run->tape) {
		left_out(archive);
		return;
	}
	if (td_tape_put(run->tape, entry, &err) != 0) {
		give_up(archive, err.text);
		left_out(archive);
		return;
	}
	if (entry->at_ns > run->last_ns)
		run->last_ns = entry->at_ns;
	if (numbered)
		run->next = entry->number + 1;
	run->unsynced = true;
	run->waiting++;
	hold_bounds(archive);
}

static bool sync_is_due(const struct td_archive *archive)
{
	const struct td_archive_run *run = &archive->run;

	return archive->now_ns >= td_time_after(run->synced_ns, run->hurry ? HURRY_NS : TD_ARCHIVE_SYNC_NS);
}

void td_archive_run_tend(struct td_archive *archive)
{
	struct td_archive_run *run = &archive->run;

	if (!run->tape)
		return;
	bool due = run->unsynced && sync_is_due(archive);

	if ((due ? td_stream_sync(&run->stream) : td_stream_push(&run->stream)) != 0) {
		give_up(archive, NULL);
		return;
	}
	run->waiting = 0;
	if (due) {
		run->synced_ns = archive->now_ns;
		run->unsynced = false;
		run->hurry = false;
	}
	if (run->others + run->stream.bytes > archive->setup.size_max)
		(void)make_room(archive, 0);
}
