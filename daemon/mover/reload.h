/* SPDX-License-Identifier: MIT */
/*
 * A new configuration while the mover runs. Another process, which may use heap and disk, checks the whole of it; the mover
 * only waits for its verdict as for everything else. When it is good the run ends and the program starts itself anew; when it
 * is not, the old one stays in force.
 *
 * Motion has stopped before the check begins.
 */
#ifndef TD_DAEMON_MOVER_RELOAD_H
#define TD_DAEMON_MOVER_RELOAD_H

#include <stdbool.h>
#include <sys/types.h>

#include "core/time.h"

/* Who takes longer to check is killed, and the configuration counts as refused. */
#define TD_RELOAD_CHECK_NS TD_S(10)

struct td_reload {
	char *const *check; /* argv of the checker, check[0] a path; NULL: nothing can be reloaded */
	pid_t pid;          /* of the one that runs */
	int fd;             /* readable once it has ended; -1: none runs */
	td_ns until_ns;
};

enum td_reload_verdict { TD_RELOAD_WAITS, TD_RELOAD_GOOD, TD_RELOAD_BAD };

void td_reload_init(struct td_reload *reload, char *const *check);

/* Starts a check, unless one runs. False: none can be started, which is said in the log. */
bool td_reload_begin(struct td_reload *reload, td_ns now_ns);

/* When a running check has had its time; TD_NEVER. */
td_ns td_reload_due(const struct td_reload *reload);

/* What became of it, once; TD_RELOAD_WAITS while it runs, or where none does. */
enum td_reload_verdict td_reload_verdict(struct td_reload *reload, td_ns now_ns);

/* Nobody waits for the verdict any more. */
void td_reload_end(struct td_reload *reload);

#endif
