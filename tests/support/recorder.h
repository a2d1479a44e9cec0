/* SPDX-License-Identifier: MIT */
/*
 * A real core that runs in simulated time and hands everything it does to an archive, as mover and scribe would: a
 * snapshot at the start and every ten seconds, every step and its news, and a look at what is due every second. And
 * the opposite: what stands in a file of the archive, fed to another core and compared.
 */
#ifndef TD_TESTS_RECORDER_H
#define TD_TESTS_RECORDER_H

#include "config/config.h"
#include "daemon/scribe/archive.h"
#include "trace/tape.h"

enum { RECORDER_DRIVE = 0, RECORDER_VENT, RECORDER_AXES };

/* Noon of a day of our own. */
enum { RECORDER_NOON_S = 20000 * 86400 + 43200 };

struct recorder {
	struct td_config config;
	const char *text;
	size_t length;
	struct td_core core;
	struct td_result result;
	uint32_t levels; /* electrical */
	uint64_t number; /* of the next entry */
	td_ns now_ns;
	td_ns snapshot_ns; /* when the next one is due */
	td_ns tend_ns;
	unsigned int lose; /* so many of the next entries never come to the archive */
	uint32_t hold;
	struct td_archive *archive; /* NULL: nobody listens */
};

/* The settings of an archive in `dir` for it. */
struct td_archive_setup recorder_setup(const struct recorder *recorder, const char *dir);

/* Armed, everything clear, at `now_ns`; nothing is recorded yet. */
void recorder_start(struct recorder *recorder, td_ns now_ns);

/* One step at recorder->now_ns. */
void recorder_step(struct recorder *recorder, struct td_event event);

/* Time passes: a step every half a second; or, driving, a request renewed every 100 ms. */
void recorder_rest(struct recorder *recorder, td_ns span_ns);
void recorder_drive(struct recorder *recorder, td_ns span_ns);

/* Both end switches of the vent are active at once, which trips it; 20 ms later all is clear and reset. */
void recorder_trip(struct recorder *recorder);

/* What the wall clock of the archives shows: noon and whatever a test adds. */
extern int64_t recorder_wall_add_s;
int64_t recorder_wall_s(void);

/* --- reading ---------------------------------------------------------------------------------------- */

struct recorder_file {
	enum td_tape_result result;
	struct td_tape_summary summary;
	struct td_tape_head head;
	struct td_error err;
	unsigned int entries;
	unsigned int trips;
	unsigned int checks;
	unsigned int lost;
	unsigned int different; /* steps after which this core is not what the file says */
	uint64_t last_number;   /* of a step */
	td_ns last_ns;          /* of the last step, on the clock of the recording */
	td_ns trip_ns;          /* of the first trip */
};

/* Plays it into a core. A file that cannot be opened is TD_TAPE_BAD. */
struct recorder_file recorder_play(const char *path);

#endif
