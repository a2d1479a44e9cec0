/* SPDX-License-Identifier: MIT */
/* Programs started beside ours: for the demo and the end-to-end tests. */
#ifndef TD_SIM_CHILD_H
#define TD_SIM_CHILD_H

#include <sys/types.h>

#include "core/time.h"
#include "error.h"

/* Starts argv[0] (a path) with standard input from /dev/null and both outputs appended to the file `log`. It is
 * killed when our process ends. The pid, or -1 with a sentence. */
pid_t td_child_start(const char *const argv[], const char *log, struct td_error *err);

/* Waits for its end at most `timeout_ns`. 0 ... 255: exit code; 256 + N: ended by signal N; -1: still running.
 * A child that ended is forgotten: ask once. */
int td_child_wait(pid_t pid, td_ns timeout_ns);

/* Ends it with SIGTERM, after three seconds with SIGKILL; pids <= 0 are ignored. The exit code as above. */
int td_child_end(pid_t pid);

#endif
