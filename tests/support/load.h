/* SPDX-License-Identifier: MIT */
/* The real daemon under a load, with healthy clients beside it; and the yardstick under the same load. */
#ifndef TD_TESTS_LOAD_H
#define TD_TESTS_LOAD_H

#include "tests/support/flood.h"
#include "tests/support/rounds.h"
#include "tests/support/usage.h"

struct load_phase {
	const char *name;
	enum flood_kind kind;
	unsigned int clients;
	unsigned int per_second; /* turns of all of them together */
};

/* One server in one phase. */
struct load_side {
	struct flood_result crowd;   /* who makes the load */
	struct flood_result healthy; /* one client that was there before and asks 20 times a second */
	struct usage before;
	struct usage after;
};

struct load {
	struct stage stage;
	struct rounds rounds; /* of the last phase */
	long mover_wakeups;   /* in the last phase */
};

/* A stage whose visitors' places are enough for `clients` of a load. */
void load_open(struct load *load, unsigned int clients);
void load_close(struct load *load);

/* The daemon: what the healthy ones saw is in load->rounds. */
struct load_side load_run(struct load *load, const struct load_phase *phase, td_ns for_ns);

/* The yardstick, which lives only as long as the phase. `path`: where its socket may be. */
struct load_side load_run_echo(const char *path, const struct load_phase *phase, td_ns for_ns);

#endif
