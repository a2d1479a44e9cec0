/* SPDX-License-Identifier: MIT */
/*
 * What the mover tells the service manager: READY once a whole cycle has passed, its state when that changes, and the food of
 * the watchdog. All of it is said at the end of a whole cycle and nowhere else, so a mover that hangs, spins, is stopped or
 * dead says nothing, and the watchdog ends it (R16).
 */
#ifndef TD_DAEMON_MOVER_MANAGER_H
#define TD_DAEMON_MOVER_MANAGER_H

#include <stdbool.h>

#include "core/core.h"
#include "daemon/arming.h"
#include "daemon/notify.h"

#define TD_NOT_ARMED_TEXT "not armed, nothing moves"

/* X(IDENT, "what the manager shows"); of several that hold, the first is shown. */
#define TD_STATUS_TABLE(X)                                                                                   \
	X(NOT_ARMED, TD_NOT_ARMED_TEXT)                                                                      \
	X(LATCHED, "latched stop, nothing moves until it is reset")                                          \
	X(TRIPPED, "armed; something has tripped and waits for a reset: see tripdog status")                 \
	X(ARMED, "armed")

enum td_status {
#define TD_X(ident, text) TD_STATUS_##ident,
	TD_STATUS_TABLE(TD_X)
#undef TD_X
};

struct td_mover_manager {
	const struct td_notify *notify; /* NULL: nobody wants to know */
	const char *why_not;            /* it is not armed */
	bool ready;                     /* READY was said */
	bool refused;                   /* a new configuration was refused, and the old one is in force */
	bool changed;                   /* what was told is no longer so */
	enum td_status status;
	td_ns told_ns;
	td_ns fed_ns;
	td_ns again_ns; /* not before, after something did not go out */
};

/* `notify` and `why_not` outlive it. */
void td_mover_manager_init(struct td_mover_manager *manager, const struct td_notify *notify,
			   const char *why_not);

/* When there is something to say though nothing happens; TD_NEVER. */
td_ns td_mover_manager_due(const struct td_mover_manager *manager);

/* At the end of a whole cycle. True if the watchdog was fed. */
bool td_mover_manager_tend(struct td_mover_manager *manager, const struct td_core *core,
			   const struct td_rules *rules, td_ns now_ns);

/* A new configuration is asked for: RELOADING. READY follows at the end of the next cycle after _reloaded(), or
 * from the program that takes this one's place. */
void td_mover_manager_reloading(struct td_mover_manager *manager, td_ns now_ns);

/* It was refused. */
void td_mover_manager_kept(struct td_mover_manager *manager);

/* The last word: the outputs are low. */
void td_mover_manager_stopping(const struct td_mover_manager *manager);

#endif
