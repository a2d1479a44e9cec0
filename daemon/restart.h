/* SPDX-License-Identifier: MIT */
/* The program as it was started, to check a configuration with and to start itself anew in the same process. */
#ifndef TD_DAEMON_RESTART_H
#define TD_DAEMON_RESTART_H

#include "error.h"

struct td_restart {
	char program[4096]; /* "" = not known */
	char *const *argv;
	char *check[5]; /* argv of the check of `config`; check[0] is NULL if the program is not known */
};

/* `argv` and `config` outlive it. */
void td_restart_init(struct td_restart *self, char *const *argv, const char *config);

/* Does not return, but with -1 and a sentence. Everything that must not go on is closed or ended by then; descriptors that
 * are marked so are closed on the way. */
int td_restart(const struct td_restart *self, struct td_error *err);

#endif
