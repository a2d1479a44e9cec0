/* SPDX-License-Identifier: MIT */
/* Completion of the command line by a shell, made from the tables of commands and options. */
#ifndef TD_DAEMON_CLIENT_COMPLETION_H
#define TD_DAEMON_CLIENT_COMPLETION_H

#include <stdio.h>

/* Writes what bash sources. Names of axes and ways it asks the daemon for, when they are needed. */
void td_cli_completion(FILE *out);

#endif
