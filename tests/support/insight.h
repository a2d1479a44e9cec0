/* SPDX-License-Identifier: MIT */
/*
 * What the monitor holds for certain, against the core itself: it is so, powered or not. And how much of what the core
 * does the monitor can know from outside.
 */
#ifndef TD_TESTS_INSIGHT_H
#define TD_TESTS_INSIGHT_H

#include <stddef.h>

#include "core/core.h"
#include "core/monitor.h"

/* All zero to begin with; sums over the steps. */
struct insight {
	size_t blocked;  /* R18: ways that would add twist ... */
	size_t certain;  /* ... and those of which the monitor is certain */
	size_t early;    /* R8: ends reached too early ... */
	size_t noticed;  /* ... that the monitor knows of */
	size_t tripped;  /* R11: axes that have tripped ... */
	size_t known;    /* ... and those known to have */
	size_t pardoned; /* R11: visitors' resets that were certainly taken */
};

/* After each step. A wrong certainty fails the test. */
void insight_check(struct insight *insight, const struct td_rules *rules, const struct td_core *core,
		   const struct td_monitor *monitor, const struct td_result *result);

void insight_add(struct insight *sum, const struct insight *insight);
void insight_print(const struct insight *insight);

#endif
