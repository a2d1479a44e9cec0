/* SPDX-License-Identifier: MIT */
/*
 * The traces on the disk, in a directory of their own:
 *
 *   run-NNNNNNNN.vcd               what happened, one file after another without a gap; the oldest go when all of
 *                                  them together would be larger than allowed
 *   trip-NNNNNNNN-AXIS-CAUSE.vcd   the 60 s before a trip and 5 s after it; the newest 100 stay. AXIS is "machine" where the
 *                                  trip concerns none, or several in one step
 *
 * Every file begins at a snapshot of the core and can be replayed alone (trace/tape.h). A run file ends at a snapshot once
 * it is large enough, and where entries were lost; the next begins at the next snapshot. A trip's file begins at the newest
 * snapshot that is 60 s older than the trip, or the oldest one that is remembered. A trip is every piece of news whose
 * cause is one, and every breach that the second judge saw. Another one within those 5 s is told by the same file, which
 * then ends 5 s after it, but takes in none that comes 30 s after its first; that one begins a file of its own.
 *
 * What is written in a day (of UTC) is bounded, for the sake of flash memory: a quarter of the day's budget is kept for
 * trips; when the rest is spent, run files pause until the day is over, which is said in the log and in the next file. At
 * the start the sizes of the files last written today count as spent.
 *
 * A file that is begun has ".new" behind its name until what must be there is on the disk: of a trip's file all of it, of a run
 * file everything before its first value. Then fsync, rename, fsync of the directory. On the disk for certain: whatever has
 * its name, and of a run file what is older than TD_ARCHIVE_SYNC_NS, or, after a trip, a second. Handed to the
 * kernel: what is older than a second. A file without its end, as a power cut leaves it, is read as far as it goes.
 *
 * Everything here may wait for the disk, so it runs in the scribe and nowhere else. What the disk refuses is told once, counted,
 * and tried again (after 10 s, then twice as long each time, at most ten minutes); nothing is ever thrown away
 * because of it but what does not fit.
 */
#ifndef TD_DAEMON_ARCHIVE_H
#define TD_DAEMON_ARCHIVE_H

#include "config/config.h"
#include "daemon/scribe/disk.h"
#include "error.h"
#include "trace/entry.h"

#define TD_ARCHIVE_BEFORE_NS TD_S(60)
#define TD_ARCHIVE_AFTER_NS  TD_S(5)
#define TD_ARCHIVE_SYNC_NS   TD_S(30)

enum { TD_ARCHIVE_TRIPS_MAX = 100, TD_ARCHIVE_RUN_FILE_MAX = 512 * 1024 };

struct td_archive_setup {
	const char *dir; /* made if it is missing */
	const struct td_config *config;
	const char *config_text; /* the file, as it was read */
	size_t config_length;
	int64_t size_max;        /* bytes of all run files together; 0: none are written */
	int64_t daily_max;       /* bytes written in a day, trips included */
	int64_t (*wall_s)(void); /* seconds since 1970, UTC; NULL: the system's clock */
};

struct td_archive_tally {
	uint64_t lost;      /* entries that never came here */
	uint64_t unwritten; /* entries the disk refused, or the budget left out */
	uint64_t trips;     /* files of trips written */
	uint64_t trips_left_out;
	int64_t bytes_today;
};

struct td_archive;

/* What lies in the directory is taken over as it is; half-made files of a trip are removed. Strings and config must outlive the
 * archive. NULL with a sentence (no memory). A directory that cannot be used is no error here: it is tried again. */
struct td_archive *td_archive_open(const struct td_archive_setup *setup, const struct td_disk *disk,
				   td_ns now_ns, struct td_error *err);

/* The core as it was before the entry with that number. Every ten seconds or so, and first of all. */
void td_archive_snapshot(struct td_archive *archive, const struct td_snapshot *snapshot);

/* The next entry. */
void td_archive_entry(struct td_archive *archive, const struct td_entry *entry);

/* Does what is due: hands over, syncs, changes files, writes trips. At least every second. */
void td_archive_tend(struct td_archive *archive, td_ns now_ns);

struct td_archive_tally td_archive_tally(const struct td_archive *archive);

/* Everything is written and synced; a trip's file ends here. NULL is fine. */
void td_archive_close(struct td_archive *archive, td_ns now_ns);

#endif
