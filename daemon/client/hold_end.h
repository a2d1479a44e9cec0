/* SPDX-License-Identifier: MIT */
/* How a hold ended that the daemon ended: why, in words, and the exit code. */
#ifndef TD_DAEMON_CLIENT_HOLD_END_H
#define TD_DAEMON_CLIENT_HOLD_END_H

#include <stdbool.h>

#include "core/cause.h"
#include "daemon/client/cli.h"

/* News with this cause about the held axis mean that the hold is over. */
bool td_hold_end_ends(enum td_cause cause);

/* For a renewal or release that was refused with `cause`, which says that the hold is over but not why: asks
 * the daemon for its status and returns the cause that explains it best; `cause` where nothing does. */
enum td_cause td_hold_end_ask(struct td_cli *cli, const char *axis, const char *way, enum td_cause cause);

/* DONE for an end reached, HOLD_TRIPPED for a trip or the latched stop, else HOLD_ENDED. */
enum td_exit td_hold_end_code(enum td_cause cause);

/* Tells it and returns the code: an end reached on standard output, everything else on standard error. */
enum td_exit td_hold_end_tell(struct td_cli *cli, const char *axis, enum td_cause cause);

#endif
