/* SPDX-License-Identifier: MIT */
/* Records scenarios as traces, as a daemon would. */
#ifndef TD_TESTS_TAPER_H
#define TD_TESTS_TAPER_H

#include "config/config.h"
#include "tests/support/scenario.h"

struct taped {
	char *config_text; /* what is embedded */
	char *trace;       /* terminated */
	size_t length;
};

/* Runs the scenario by rules that went through a configuration file, as a daemon's do. 0; or -1 where it cannot be told
 * that way: a file cannot say its rules exactly (its own checks fail then, quietly), no file holds them, or it changes them in mid
 * run. A mark stands after every seventh step. */
int tape_scenario(const struct scenario *scenario, struct taped *taped);

/* The same, but `count` entries from number `first` on never come to the file. */
int tape_scenario_with_gap(const struct scenario *scenario, uint64_t first, uint64_t count,
			   struct taped *taped);

void taped_free(struct taped *taped);

#endif
