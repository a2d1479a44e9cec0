/* SPDX-License-Identifier: MIT */
/* What happened in a scene: changes the board saw, and news the daemon told. Grows as needed. */
#ifndef TD_SIM_DEMO_RECORD_H
#define TD_SIM_DEMO_RECORD_H

#include <stddef.h>

#include <jansson.h>

#include "config/config.h"
#include "core/cause.h"
#include "sim/watch.h"

struct td_record_news {
	td_ns at_ns;
	enum td_cause cause;
	uint8_t axis; /* or TD_NO_AXIS */
	uint8_t way;  /* or TD_NO_WAY */
	uint8_t sw;   /* or TD_NO_SWITCH */
};

struct td_record_state {
	td_ns at_ns;
	uint8_t axis;
	char state[16];
};

struct td_record {
	const struct td_config *config;
	struct td_change *change;
	size_t changes;
	struct td_record_news *news;
	size_t newses;
	struct td_record_state *state;
	size_t states;
};

void td_record_begin(struct td_record *record, const struct td_config *config);
void td_record_free(struct td_record *record);

/* A watcher's change function; ctx is the record. */
void td_record_change(void *ctx, const struct td_change *change);

/* A notification of the daemon: "news" and "axis" are kept, others ignored. Returns the news kept, else NULL;
 * valid until the next one. */
const struct td_record_news *td_record_notification(struct td_record *record, json_t *notification);

/* True where this cause is among the news. */
bool td_record_has(const struct td_record *record, enum td_cause cause);

#endif
