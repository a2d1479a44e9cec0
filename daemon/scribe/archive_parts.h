/* SPDX-License-Identifier: MIT */
/* What the files of the archive (archive_*.c) share: its state, and what each of them does for the others. */
#ifndef TD_DAEMON_ARCHIVE_PARTS_H
#define TD_DAEMON_ARCHIVE_PARTS_H

#include <stdbool.h>

#include "daemon/scribe/archive.h"
#include "daemon/scribe/archive_files.h"
#include "daemon/scribe/archive_memory.h"
#include "daemon/scribe/archive_stream.h"
#include "trace/tape.h"

/* What the disk refused is tried again after 10 s, then after twice as long each time, up to ten minutes. */
#define TD_TROUBLE_FIRST_NS TD_S(10)
#define TD_TROUBLE_MOST_NS  TD_S(600)

/* Trips that follow one another make one file up to this long after the first of them. */
#define TD_ARCHIVE_JOIN_NS TD_S(30)

enum { TD_ARCHIVE_DUE_MAX = 8 };

/* All zero: there is none. */
struct td_trouble {
	bool there;
	td_ns wait_ns;
	td_ns next_ns;
};

/* Days are days of UTC. */
struct td_archive_budget {
	int64_t day; /* since 1970 */
	int64_t spent[TD_FILES_KINDS];
	bool told[TD_FILES_KINDS]; /* that it is spent */
};

struct td_archive_home {
	bool ready;    /* the directory was there when last looked at */
	bool counted;  /* what was written today before this start is counted */
	bool unsynced; /* a name in it may not be on the disk */
	struct td_trouble trouble;
};

struct td_archive_run {
	struct td_stream stream;
	struct td_tape *tape; /* NULL: no file is open */
	uint64_t number;      /* of the file */
	uint64_t next;        /* number of the entry that belongs next into it */
	td_ns last_ns;        /* time of the last entry */
	td_ns synced_ns;
	bool unsynced;     /* something of it may not be on the disk */
	bool hurry;        /* sync soon */
	int64_t others;    /* bytes of the other run files */
	uint64_t left_out; /* entries since the file before it */
	uint64_t waiting;  /* entries that may not have come to the kernel yet */
	struct td_trouble trouble;
};

/* A trip whose file is not written yet. */
struct td_archive_due {
	enum td_cause cause;
	uint8_t axis;
	uint64_t number; /* of the entry that told of it */
	td_ns at_ns;
	td_ns until_ns; /* the file ends here */
};

struct td_archive_trips {
	unsigned int count;
	struct td_archive_due due[TD_ARCHIVE_DUE_MAX]; /* oldest first */
	struct td_stream stream;
	uint64_t number; /* of the last file */
	struct td_trouble trouble;
};

struct td_archive {
	struct td_archive_setup setup;
	const struct td_disk *disk;
	td_ns now_ns;
	uint64_t next; /* number that the next entry ought to have */
	struct td_archive_tally tally;
	struct td_archive_budget budget;
	struct td_archive_home home;
	struct td_archive_run run;
	struct td_archive_trips trips;
	struct td_memory memory;
};

/* --- archive_trouble.c: told once, tried again later */

/* True where it is time to try (again). */
bool td_trouble_lets(const struct td_trouble *trouble, td_ns now_ns);
/* Something failed: `what` and errno's sentence, or `why` where it is not NULL. Tells it if it is new. Returns -1. */
int td_trouble_met(struct td_trouble *trouble, td_ns now_ns, const char *what, const char *why);
/* It works again. */
void td_trouble_over(struct td_trouble *trouble, const char *what);

/* --- archive_budget.c */

/* Seconds since 1970, UTC. */
int64_t td_archive_wall_s(const struct td_archive *archive);
/* A new day has a new budget. */
void td_archive_budget_tend(struct td_archive *archive);
/* What was on the disk of today at the start. */
void td_archive_budget_count(struct td_archive *archive, const struct td_files_view view[TD_FILES_KINDS]);
/* Bytes that may still be written today. */
int64_t td_archive_budget_left(const struct td_archive *archive, enum td_files_kind kind);
/* Tells once a day that it is spent. */
void td_archive_budget_spent(struct td_archive *archive, enum td_files_kind kind);

/* --- archive_home.c: the directory */

/* Makes and takes over the directory if that was not done yet. True where files can be made in it. */
bool td_archive_home_ready(struct td_archive *archive);
/* A name was given: makes that durable. 0, or -1 and it is tried again. */
int td_archive_home_sync(struct td_archive *archive);
/* What every file begins with; `at_ns` is its first moment. */
struct td_tape_head td_archive_head(const struct td_archive *archive, const char *kind, td_ns at_ns);

/* --- archive_run.c */

void td_archive_run_entry(struct td_archive *archive, const struct td_entry *entry);
void td_archive_run_tend(struct td_archive *archive);
void td_archive_run_close(struct td_archive *archive, td_ns at_ns);

/* --- archive_trip.c */

/* Looks whether it tells of a trip. */
void td_archive_trip_entry(struct td_archive *archive, const struct td_entry *entry);
/* Writes the files of trips whose time is over. */
void td_archive_trip_tend(struct td_archive *archive);
/* Writes all of them now. */
void td_archive_trip_close(struct td_archive *archive);

#endif
