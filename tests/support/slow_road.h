/* SPDX-License-Identifier: MIT */
/*
 * A network between a client and a Unix socket: a process that passes everything on, later, and that can stall: then it takes
 * what is sent and keeps it, and delivers all of it at once when it goes on.
 */
#ifndef TD_TESTS_SLOW_ROAD_H
#define TD_TESTS_SLOW_ROAD_H

#include <stdbool.h>
#include <sys/types.h>

#include "core/time.h"

struct slow_road_switch;

struct slow_road {
	pid_t pid;
	char path[108];
	struct slow_road_switch *at; /* shared with the process */
};

/* Listens at `path` for one client after the other, and connects each to `to`. Each way takes `way_ns`. */
void slow_road_open(struct slow_road *road, const char *path, const char *to, td_ns way_ns);

/* From now on nothing arrives at either end, or everything that was kept and whatever comes. */
void slow_road_stall(struct slow_road *road, bool stall);

void slow_road_close(struct slow_road *road);

#endif
