/* SPDX-License-Identifier: MIT */
/* Hands that hold ways of a core in simulated time: they ask, renew while they are answered well, and let go. */
#ifndef TD_SIM_REPLAY_HANDS_H
#define TD_SIM_REPLAY_HANDS_H

#include <stdio.h>

#include "sim/replay/map.h"
#include "sim/replay/replay.h"

struct td_hand {
	bool pressed;
	bool asks; /* is renewed */
	uint32_t seq;
	uint32_t hold;
	td_ns next_ns;
};

struct td_hands {
	const struct td_config *config;
	const struct td_replay_map *map;
	FILE *told;
	struct td_replay_tap tap;
	struct td_error *err;
	bool failed; /* the tap wanted no more */
	struct td_core core;
	struct td_result result;
	td_ns deadline_ns;
	uint64_t number;
	uint32_t levels;
	int64_t steps;
	int64_t causes;
	struct td_hand hand[TD_REPLAY_MAP_MAX]; /* by row of the map */
};

/* A core at time 0. */
void td_hands_begin(struct td_hands *hands, const struct td_config *config, const struct td_replay_map *map,
		    FILE *told);

/* The switch lines from now on. */
void td_hands_levels(struct td_hands *hands, td_ns at_ns, uint32_t levels);
void td_hands_arm(struct td_hands *hands, td_ns at_ns);

/* A hand of this row of the map. */
void td_hands_press(struct td_hands *hands, unsigned int row, td_ns at_ns, bool pressed);

/* Everything that is due before `until_ns`: deadlines of the core, renewals. */
void td_hands_advance(struct td_hands *hands, td_ns until_ns);

#endif
