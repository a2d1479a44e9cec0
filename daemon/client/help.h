/* SPDX-License-Identifier: MIT */
/* The help text of tripdog, made from the tables. */
#ifndef TD_DAEMON_CLIENT_HELP_H
#define TD_DAEMON_CLIENT_HELP_H

#include "daemon/client/pen.h"

void td_cli_help(struct td_pen *pen);

#endif
