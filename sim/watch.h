/* SPDX-License-Identifier: MIT */
/*
 * Watching a plant: everything that changes, in order of time, as calls of one function. The board uses
 * it in real time, the straight run in virtual time; a writer of traces or drawings hangs on to either.
 */
#ifndef TD_SIM_WATCH_H
#define TD_SIM_WATCH_H

#include <stdint.h>

#include "sim/plant.h"

enum td_change_kind {
	TD_CHANGE_OUTPUT = 0, /* index axis * 2 + way; value 0 or 1 */
	TD_CHANGE_LEVEL,      /* index of the switch; value 0 or 1, electrical */
	TD_CHANGE_POSITION,   /* index of the axis; value in millionths of the travel */
	TD_CHANGE_TEETH,      /* index of the axis; value = teeth skipped since the start */
	TD_CHANGE_MARK,       /* somebody's remark: text */
};

struct td_change {
	td_ns at_ns; /* never earlier than that of the call before */
	enum td_change_kind kind;
	uint8_t index;
	int64_t value;
	const char *text; /* MARK; valid during the call; else NULL */
};

/* `change` may be NULL: nobody looks. It must not touch the plant. */
struct td_watcher {
	void (*change)(void *ctx, const struct td_change *change);
	void *ctx;
};

struct td_watch {
	struct td_plant *plant;
	struct td_watcher watcher;
	td_ns sample_ns; /* between two samples of position and teeth while something moves; 0 = none */
	td_ns next_sample_ns;
	uint32_t outputs;
	uint32_t levels;
	int64_t position[TD_AXES_MAX];
	int64_t teeth[TD_AXES_MAX];
};

/* Begins to watch `plant` (which must outlive the watch) and tells every value it has now. */
void td_watch_start(struct td_watch *watch, struct td_plant *plant, td_ns sample_ns,
		    struct td_watcher watcher);

/* Advances the plant to `to_ns`, telling every change at its own time. */
void td_watch_run(struct td_watch *watch, td_ns to_ns);

/* td_watch_run() to `at_ns`, then td_plant_outputs(). */
void td_watch_outputs(struct td_watch *watch, td_ns at_ns, uint32_t word);

/* After a fault or a hand has changed the plant: tells what differs now. */
void td_watch_look(struct td_watch *watch);

/* A remark, at the plant's time. */
void td_watch_mark(struct td_watch *watch, const char *text);

/* When td_watch_run() has something to do next: the plant's next event or a sample. TD_NEVER if not. */
td_ns td_watch_next(const struct td_watch *watch);

#endif
