/* SPDX-License-Identifier: MIT */
/* Names from the command line, checked against what the daemon describes. */
#ifndef TD_DAEMON_CLI_NAMES_H
#define TD_DAEMON_CLI_NAMES_H

#include <jansson.h>

#include "daemon/cli_exit.h"

/* DONE if the axis has this way; else USAGE, and the nearest name is on standard error. The daemon would
 * refuse as well; this says so before anything is asked for. `describe` is the result of that method. */
enum td_exit td_names_check(const json_t *describe, const char *axis, const char *way);

#endif
