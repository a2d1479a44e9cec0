/* SPDX-License-Identifier: MIT */
/*
 * A trace of the daemon's own as a file: entries (entry.h) to a value change dump whose signals layout.h names, and
 * back, without loss of anything a replay needs.
 *
 * Before the first value stand comments: the head; the configuration file as it was read; the core as it was
 * at the first moment, twice: as its bytes, for the same build, and as the record of core/keep.h, for any other.
 * So every file can be replayed alone.
 */
#ifndef TD_TRACE_TAPE_H
#define TD_TRACE_TAPE_H

#include <stdio.h>

#include "config/config.h"
#include "core/keep.h"
#include "error.h"
#include "trace/entry.h"

enum {
	TD_TAPE_FORMAT = 1,
	TD_TAPE_KIND_MAX = 16, /* bytes of a kind, terminator included */
	TD_TAPE_VERSION_MAX = 32,
	TD_TAPE_WALL_MAX = 40,
};

struct td_tape_head {
	char kind[TD_TAPE_KIND_MAX];       /* "run", "trip", "replay" */
	char version[TD_TAPE_VERSION_MAX]; /* of the program that wrote it */
	char wall[TD_TAPE_WALL_MAX];       /* wall clock at the first moment, RFC 3339, UTC; "" = unknown */
	uint64_t config_hash;
	td_ns begin_ns; /* time 0 of the file, on the core's clock (CLOCK_MONOTONIC of the recording machine) */
	uint64_t first_number; /* of the first entry */
	uint32_t machine;      /* td_keep_take()'s tag */
};

/* --- writing --------------------------------------------------------------------------------------- */

struct td_tape;

/* Begins a file whose first moment is *snapshot (head->begin_ns and first_number come from there, whatever *head
 * says). `config_text` is the configuration file, `length` bytes; `out` stays the caller's and must outlive the tape, *config
 * too. NULL with a sentence. Allocates; the other calls do not. */
struct td_tape *td_tape_new(FILE *out, const struct td_config *config, const char *config_text, size_t length,
			    const struct td_tape_head *head, const struct td_snapshot *snapshot,
			    struct td_error *err);

/* The next entry, in order of their numbers; entries of clients anywhere between (their time is never let run backwards). A
 * gap of numbers is counted as lost, and said. 0, or -1 with a sentence: the file cannot be written any more. */
int td_tape_put(struct td_tape *tape, const struct td_entry *entry, struct td_error *err);

/* A mark for the replay, between two steps: so the core was at *snapshot, whose number is that of the next entry (entries that are
 * missing before it are counted first). */
int td_tape_check(struct td_tape *tape, const struct td_snapshot *snapshot, struct td_error *err);

/* Ends the values at `at_ns` (the core's clock) and hands everything to `out`. */
int td_tape_finish(struct td_tape *tape, td_ns at_ns, struct td_error *err);

/* NULL is fine. */
void td_tape_free(struct td_tape *tape);

/* --- reading --------------------------------------------------------------------------------------- */

/* What the player calls, in the order of the file; any may be NULL. 0 = go on, anything else stops. What is pointed to
 * lives until the callback returns. */
struct td_tape_sink {
	void *ctx;
	/* Once, before everything else. `config` is the one embedded, checked; `snapshot` is NULL where the bytes of the
	 * core are another build's; then `keep` is all there is. levels and outputs of the first moment in any case. */
	int (*head)(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		    const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		    uint32_t outputs);
	/* STEP, NEWS (cause and axis only, the rest is TD_NO_... or 0; TD_ALL_AXES has become TD_NO_AXIS), SESSION, REFUSED
	 * (their at_ns is that of the file). `file_ns`: where it stands in the file. Where the end of the file is missing,
	 * news of the last step may be, too. A kind of event beyond 255 has become 255. */
	int (*entry)(void *ctx, td_ns file_ns, const struct td_entry *entry);
	int (*check)(void *ctx, td_ns file_ns, uint32_t check); /* td_tape_check_of() */
	int (*lost)(void *ctx, td_ns file_ns, uint32_t lost);   /* so many entries are missing here */
	/* The embedded configuration file, as it was given to td_tape_new(), for whoever shows it or writes it on; before
	 * head(). Unchecked where another one stands in for it. `text` is terminated. */
	int (*configuration)(void *ctx, const char *text, size_t length);
};

struct td_tape_summary {
	bool cut_off; /* the end of the file is missing */
	int64_t steps;
	int64_t changes;
	int64_t bytes;
	td_ns last_ns; /* last time in the file */
};

enum td_tape_result { TD_TAPE_READ = 0, TD_TAPE_STOPPED = 1, TD_TAPE_BAD = -1, TD_TAPE_FOREIGN = -2 };

/* Plays `in` from front to back in bounded memory. `config` NULL: the embedded one; else this one stands in for it, and has
 * the same names of axes, ways and switches. TD_TAPE_BAD: damaged, with a sentence that says at which byte. TD_TAPE_FOREIGN: a
 * value change dump, but none of ours, with a sentence. *summary is filled in every case. */
enum td_tape_result td_tape_play(FILE *in, const char *shown_as, const struct td_config *config,
				 const struct td_tape_sink *sink, struct td_tape_summary *summary,
				 struct td_error *err);

/* What td_tape_check() writes of a core and the replay compares: CRC-32 of its record (core/record.h, as if closed at
 * core->now_ns, machine tag 0) and of what status shows of each axis at that time. */
uint32_t td_tape_check_of(const struct td_core *core, const struct td_rules *rules);

#endif
