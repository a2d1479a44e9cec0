/* SPDX-License-Identifier: MIT */
/*
 * The yardstick: a process that sends back every line of every client, with libevent and nothing else. What it
 * costs is what the machine, the kernel and the library cost.
 */
#ifndef TD_TESTS_ECHO_H
#define TD_TESTS_ECHO_H

#include <sys/types.h>

/* Listens at `path` when it returns; its pid. */
pid_t echo_start(const char *path);

void echo_end(pid_t pid);

#endif
