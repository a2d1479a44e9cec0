/* SPDX-License-Identifier: MIT */
/*
 * R8: does a contact change more often than a sound one can? A loose wire, a worn contact or a magnet at the edge of
 * its reach shows so before it lies once too often.
 *
 * What counts is the level as it was read, before any filter, so that active pulses too short to stop anything (R2)
 * count too. A change counts unless another one was counted less than TD_CHATTER_BOUNCE_NS before: the bounce of one
 * operation is one change, a short pulse with both its edges is one, and a contact that never rests makes one every
 * TD_CHATTER_BOUNCE_NS.
 *
 * More than `changes` of them within `window_ns`, and the contact is marked. The mark stays until it is forgiven; that
 * is possible once nothing was counted for a whole window. Levels as first seen are facts, not changes.
 *
 * What a mark means is not decided here: an end switch trips its axis and its place is in doubt for the conditions of
 * others (R17), the emergency-stop input makes the latched stop (R10), a contact that serves nothing is told of once.
 *
 * Nothing here fails, blocks or takes time of its own; any bytes may stand in the state.
 */
#ifndef TD_CORE_CHATTER_H
#define TD_CORE_CHATTER_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

/* All zero: not watched. */
struct td_chatter_rules {
	uint8_t changes; /* TD_CHATTER_CHANGES_MIN ... TD_CHATTER_CHANGES_MAX; 0 = not watched */
	td_ns window_ns; /* TD_CHATTER_WINDOW_MIN_NS ... TD_CHATTER_WINDOW_MAX_NS; 0 where it is not watched */
};

/* One contact; all zero is a beginning. */
struct td_chatter {
	td_ns counted_ns[TD_CHATTER_CHANGES_MAX]; /* a ring of the last rules->changes */
	td_ns last_ns;                            /* the newest of them */
	uint8_t next; /* where the next one goes: the oldest, once the ring is full */
	uint8_t count;
	bool marked;
};

bool td_chatter_rules_ok(const struct td_chatter_rules *rules);

/* Levels are seen for the first time, or anew: nothing was counted yet. A mark stays. */
void td_chatter_start(struct td_chatter *chatter);

/* The level changed at `now_ns`. True if that marked the contact: once, until it is forgiven. */
bool td_chatter_change(struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns);

/* Marked, and too lately to forgive. */
bool td_chatter_restless(const struct td_chatter *chatter, const struct td_chatter_rules *rules,
			 td_ns now_ns);

/* Takes the mark away. */
void td_chatter_forgive(struct td_chatter *chatter);

#endif
