/* SPDX-License-Identifier: MIT */
/*
 * What a trace is made of, before it is a file: entries of one fixed size. A step of the core is one entry, with
 * the whole event as the core was given it, so that the same core fed with the same events must come to the same
 * outcome, bit for bit; each piece of news of that step follows as an entry of its own. The front adds who came,
 * who went and whom it turned away.
 *
 * An entry is plain bytes of one build on one machine: it goes through memory that two processes share, never into a
 * file (tape.h makes a file of entries).
 */
#ifndef TD_TRACE_ENTRY_H
#define TD_TRACE_ENTRY_H

#include <stdint.h>

#include "core/core.h"

enum td_entry_kind {
	TD_ENTRY_NONE = 0,
	TD_ENTRY_STEP,    /* one step of the core */
	TD_ENTRY_NEWS,    /* one piece of its news, right after it */
	TD_ENTRY_SESSION, /* a client came or went */
	TD_ENTRY_REFUSED, /* the front turned a request away, the core never heard of it */
};

/* The event and what came of it. */
struct td_entry_step {
	struct td_event event;      /* as given: at_ns may lie before the core's time */
	uint32_t outputs;           /* after the step */
	uint32_t asked;             /* bit axis * 2 + way: somebody holds this way */
	uint32_t levels;            /* electrical, as the core knows them */
	uint32_t active;            /* filtered */
	uint8_t state[TD_AXES_MAX]; /* enum td_axis_state */
	uint8_t answer;             /* enum td_cause */
	uint8_t armed;              /* 0, 1 */
	uint8_t latch;              /* bit set TD_LATCH_... */
	uint8_t news;               /* how many entries of news follow */
};

struct td_entry_session {
	uint32_t session;
	uint32_t uid;  /* of the peer */
	uint8_t role;  /* enum td_role */
	uint8_t came;  /* 1: came, 0: went */
	uint8_t cause; /* REFUSED: enum td_cause */
};

struct td_entry {
	uint64_t number; /* of a STEP or NEWS: 0, 1, 2 ... since the core began; a gap means lost entries */
	td_ns at_ns;     /* the core's time after the step; SESSION, REFUSED: when, on the same clock */
	uint32_t kind;   /* enum td_entry_kind */
	uint32_t pad;    /* 0 */
	union {
		struct td_entry_step step;
		struct td_news news;
		struct td_entry_session session;
	} as;
};

/* The core as it is between two entries, for whoever begins to read there. */
struct td_snapshot {
	uint64_t number; /* of the first entry after it */
	uint32_t levels; /* electrical, as last given to the core */
	uint32_t outputs;
	struct td_core core;
};

/* The entry of the step of `core` for `event` that gave `result`; `levels` as last given to the core. Writes all of
 * *entry but the number. */
void td_entry_of_step(struct td_entry *entry, const struct td_core *core, const struct td_rules *rules,
		      const struct td_event *event, const struct td_result *result, uint32_t levels);

/* The entry of news `index` (< result->news_count) of that step. */
void td_entry_of_news(struct td_entry *entry, const struct td_core *core, const struct td_result *result,
		      uint16_t index);

#endif
