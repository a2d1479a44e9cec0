/* SPDX-License-Identifier: MIT */
/*
 * Whether a key is still held down, as far as a terminal tells: it does not say when a key is let go, only that a held one comes
 * again and again. So a grip lasts from the first coming of a key until it fails to come again in time. Pure; time is an argument.
 */
#ifndef TD_DAEMON_CLIENT_GRIP_H
#define TD_DAEMON_CLIENT_GRIP_H

#include <stdbool.h>
#include <stdint.h>

#include "core/time.h"

/* Common practice, no source: keyboards begin to repeat after 250 to 660 ms, then 10 to 30 times a second. */
#define TD_GRIP_FIRST_NS  TD_MS(700)
#define TD_GRIP_REPEAT_NS TD_MS(200)

struct td_grip {
	bool held;
	bool repeats; /* the key came more than once */
	bool spent;   /* the hold ended by itself; the key counts again once it was let go (R11) */
	uint8_t way;
	td_ns key_ns; /* last came */
};

enum td_grip_deed { TD_GRIP_NOTHING = 0, TD_GRIP_TAKE, TD_GRIP_LET_GO };

/* The key of a way came. TAKE: ask for this way with a new hold, whatever was held before. */
enum td_grip_deed td_grip_key(struct td_grip *grip, uint8_t way, td_ns now_ns);

/* Time passed. LET_GO: the key is up. */
enum td_grip_deed td_grip_tick(struct td_grip *grip, td_ns now_ns);

/* The daemon ended or refused the hold, or another key stopped everything. */
void td_grip_end(struct td_grip *grip);

/* When td_grip_tick() has something to do; TD_NEVER. */
td_ns td_grip_due(const struct td_grip *grip);

#endif
