/* SPDX-License-Identifier: MIT */
/* A core whose every step goes onto a tape, and what a player finds there; for the tests of traces. */
#ifndef TD_TESTS_TAPE_RIG_H
#define TD_TESTS_TAPE_RIG_H

#include "tests/support/dice.h"
#include "trace/tape.h"

enum tape_what { TAPE_ENTRY, TAPE_CHECK, TAPE_LOST };

/* Something on a tape. */
struct tape_item {
	enum tape_what what;
	td_ns file_ns;         /* played: where it stands */
	uint32_t number;       /* CHECK, LOST */
	struct td_entry entry; /* ENTRY */
};

struct tape_items {
	struct tape_item *item;
	size_t count;
	size_t room;
};

void tape_items_add(struct tape_items *items, const struct tape_item *item);
void tape_items_free(struct tape_items *items);

struct tape_rig {
	struct td_config config;
	char *config_text;
	size_t config_length;
	struct td_core core;
	struct td_result result;
	uint32_t levels;
	uint64_t number; /* of the next entry */
	struct dice dice;
	struct td_snapshot first;
	struct td_tape_head head;
	struct tape_items made; /* what was put */
	struct td_tape *tape;
	FILE *out;
	char *bytes; /* the file, once it is closed */
	size_t length;
};

/* A core on the configuration in `path`, just started at `now_ns`; nothing is recorded yet. */
void tape_rig_open(struct tape_rig *rig, const char *path, td_ns now_ns);

/* The same on a configuration in memory. */
void tape_rig_open_text(struct tape_rig *rig, const char *text, size_t length, td_ns now_ns);

/* Begins the recording. */
void tape_rig_record(struct tape_rig *rig);

/* One step of the core and its news, put onto the tape; as everything below, without one, too. */
void tape_rig_step(struct tape_rig *rig, const struct td_event *event);

/* Any entry, and a mark for the replay. */
void tape_rig_put(struct tape_rig *rig, const struct td_entry *entry);
void tape_rig_check(struct tape_rig *rig);

/* Ready to move: levels of switches that are all clear, armed, the first pauses over. */
void tape_rig_ready(struct tape_rig *rig);

/* Somebody drives, things happen, clients come and go. `wild`: nonsense in between, too. */
void tape_rig_walk(struct tape_rig *rig, int steps, bool wild);

/* Ends the recording; bytes and length are set. */
void tape_rig_finish(struct tape_rig *rig);
void tape_rig_close(struct tape_rig *rig);

/* --- playing --- */

struct tape_played {
	enum td_tape_result result;
	struct td_tape_summary summary;
	struct td_error err;
	int heads; /* how often the head came */
	struct td_tape_head head;
	struct td_config config;
	bool has_core;
	struct td_snapshot snapshot;
	struct td_keep keep;
	uint32_t levels;
	uint32_t outputs;
	struct tape_items items;
};

/* Plays bytes; the result belongs to the caller, who frees it by tape_played_free(). `config` as for td_tape_play(). */
struct tape_played *tape_play(const char *bytes, size_t length, const struct td_config *config);
void tape_played_free(struct tape_played *played);

/* Fails the test where an item, as far as a tape keeps it, is another one. */
void tape_assert_same(const struct tape_item *made, const struct tape_item *played);

/* The first `count` of both. */
void tape_assert_prefix(const struct tape_items *made, const struct tape_items *played, size_t count);

#endif
