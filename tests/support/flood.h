/* SPDX-License-Identifier: MIT */
/* A process that throws garbage at a socket: for the tests of what a front can bear. */
#ifndef TD_TESTS_FLOOD_H
#define TD_TESTS_FLOOD_H

#include <sys/types.h>

#include "core/time.h"

struct flood {
	pid_t pid;
	int result_fd;
};

struct flood_result {
	unsigned long long messages; /* taken by the socket */
	unsigned long long connections;
	double seconds;
};

/* Starts `per_second` lines of garbage for `for_ns` at the Unix stream socket `path`, over as many connections
 * as it takes: a line the other end does not take at once is thrown at a new one. */
struct flood flood_start(const char *path, unsigned int per_second, td_ns for_ns);

/* Waits for its end. */
struct flood_result flood_end(struct flood *flood);

#endif
