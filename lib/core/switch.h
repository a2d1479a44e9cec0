/* SPDX-License-Identifier: MIT */
/*
 * One switch: from the electrical level of its line to "active" or "clear".
 *
 * Asymmetric on purpose (R2): becoming active needs `confirm_ns` without a break (0: the first active
 * level counts), becoming clear needs `clear_ns`. Shorter active pulses never stop anything; they are
 * counted. A normally-closed contact reads active when open, so a broken wire is an active switch (R9).
 */
#ifndef TD_CORE_SWITCH_H
#define TD_CORE_SWITCH_H

#include <stdbool.h>
#include <stdint.h>

#include "core/rules.h"

struct td_switch {
	bool raw;        /* the level, translated by contact and pull: true = active */
	bool active;     /* filtered */
	td_ns since_ns;  /* since when `raw` is what it is */
	uint32_t pulses; /* active pulses shorter than confirm_ns, saturating */
};

enum td_switch_edge { TD_SWITCH_NO_EDGE = 0, TD_SWITCH_BECAME_ACTIVE, TD_SWITCH_BECAME_CLEAR };

/* True where this electrical level (true = high) means "active". */
bool td_switch_reads_active(const struct td_switch_rules *rules, bool high);

/* The first level after the start: taken as it is, without filter. */
void td_switch_start(struct td_switch *sw, const struct td_switch_rules *rules, bool high, td_ns now_ns);

/* A new level was read. */
void td_switch_level(struct td_switch *sw, const struct td_switch_rules *rules, bool high, td_ns now_ns);

/* Lets the filter see the time; says whether the filtered state just changed. */
enum td_switch_edge td_switch_settle(struct td_switch *sw, const struct td_switch_rules *rules, td_ns now_ns);

/* When the filter will decide next if nothing changes; TD_NEVER if it has decided. */
td_ns td_switch_deadline(const struct td_switch *sw, const struct td_switch_rules *rules);

/* For starting: active, or perhaps about to be. Doubt counts as active. */
static inline bool td_switch_maybe_active(const struct td_switch *sw)
{
	return sw->raw || sw->active;
}

/* For starting where active is what is needed: and not perhaps about to be clear. */
static inline bool td_switch_surely_active(const struct td_switch *sw)
{
	return sw->raw && sw->active;
}

#endif
