/* SPDX-License-Identifier: MIT */
/*
 * A process that is many clients of one socket, good and bad ones: for what a front can bear. It knows nothing of the daemon's
 * own code; flood_client.h is all it has of a client.
 */
#ifndef TD_TESTS_FLOOD_H
#define TD_TESTS_FLOOD_H

#include <stdint.h>
#include <sys/types.h>

#include "core/time.h"

/* What one client does whenever its turn comes. */
enum flood_kind {
	FLOOD_NONE,    /* there are none */
	FLOOD_ASKS,    /* asks for the status */
	FLOOD_FOLLOWS, /* the same, and follows */
	FLOOD_CALLS,   /* all that visitors ask for: the vent for themselves, to let go of it, the status */
	FLOOD_GARBAGE, /* a line that may not be obeyed */
	FLOOD_HALVES,  /* one more byte of a line; some leave before its end, some never end it */
	FLOOD_DEAF,    /* follows, asks for the status and never reads */
	FLOOD_VISITS,  /* comes and asks, or goes without having heard */
};

struct flood_plan {
	const char *path; /* of the socket */
	enum flood_kind kind;
	unsigned int clients;    /* at most FLOOD_CLIENTS_MAX */
	unsigned int per_second; /* turns of all clients together */
	td_ns for_ns;
};

enum { FLOOD_CLIENTS_MAX = 1000 };

struct flood {
	pid_t pid;
	int go_fd;
	int result_fd;
};

struct flood_result {
	uint64_t turns;       /* that were taken: lines sent, bytes of them, comings and goings */
	uint64_t answers;     /* to its calls */
	uint64_t lines;       /* all that it was sent, answers included */
	uint64_t connections; /* made */
	double seconds;
	double answer_ms[3]; /* from sending to hearing: half of them, 99 of 100, all; 0: there was none */
};

/* Starts them. Clients that ask, follow or call are connected and have their first answer when it returns; the others come as they
 * can, once they may. */
struct flood flood_start(const struct flood_plan *plan);

/* From now on they do what they do. A line that the other end does not take is tried again. */
void flood_go(const struct flood *flood);

/* Waits for its end. All zero where it failed. */
struct flood_result flood_end(struct flood *flood);

#endif
