/* SPDX-License-Identifier: MIT */
/*
 * Which signals of somebody else's trace (a logic analyser's) are which switches, and which of them say that somebody holds
 * a way. An INI file:
 *
 *     [switches]
 *     D0 = boom_bottom
 *     D1 = boom_top inverted     the recorded level is the opposite of the line's
 *     [holds]
 *     keys.up = boom raise       while it is high, somebody holds this way
 *
 * A signal is named by its name, or with its scopes joined by '.'.
 */
#ifndef TD_SIM_REPLAY_MAP_H
#define TD_SIM_REPLAY_MAP_H

#include <stdbool.h>
#include <stdint.h>

#include "config/config.h"
#include "error.h"
#include "trace/vcd.h"

enum { TD_REPLAY_MAP_MAX = 64 };

struct td_replay_map_row {
	char signal[TD_VCD_PATH_MAX + TD_VCD_NAME_MAX];
	int line;
	uint8_t sw; /* TD_NO_SWITCH: it is a hold */
	bool inverted;
	uint8_t axis;
	uint8_t way;
};

struct td_replay_map {
	unsigned int rows;
	struct td_replay_map_row row[TD_REPLAY_MAP_MAX];
};

/* 0, or -1 with a sentence that says where. Any bytes may stand in the file. */
int td_replay_map_read(const char *path, const struct td_config *config, struct td_replay_map *map,
		       struct td_error *err);

#endif
