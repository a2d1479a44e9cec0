/* SPDX-License-Identifier: MIT */
/* What the daemon describes, for a command: whether names of the command line are among it, and the lease. */
#ifndef TD_DAEMON_CLIENT_NAMES_H
#define TD_DAEMON_CLIENT_NAMES_H

#include <jansson.h>

#include "core/time.h"
#include "daemon/client/exit.h"

/* DONE if the axis has this way; else USAGE, and the nearest name is on standard error. The daemon would
 * refuse as well; this says so before anything is asked for. `describe` is the result of that method. */
enum td_exit td_names_check(const json_t *describe, const char *axis, const char *way);

/* How long a request lasts where it says nothing, from the answer to `describe`. DONE, or everything has been told: none that can
 * be held. */
enum td_exit td_lease_read(const json_t *describe, td_ns *lease_ns);

#endif
