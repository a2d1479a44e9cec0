/* SPDX-License-Identifier: MIT */
/* The lines a configuration names, on the backend it names. */
#ifndef TD_DAEMON_BOARD_LINES_H
#define TD_DAEMON_BOARD_LINES_H

#include "config/config.h"
#include "error.h"
#include "lines/lines.h"

/* Requests all of them, outputs low. `file` is the configuration's name for messages and outlives the lines. NULL
 * with a sentence. */
struct td_lines *td_board_lines_open(const struct td_config *config, const char *file, struct td_error *err);

/* Whether it takes a GPIO chip that is not there, or that this user may not open: then true, with a sentence. */
bool td_board_lines_absent(const struct td_config *config, const char *file, struct td_error *err);

/* Brings every output low and lets go, whatever state the machine is in. 0, or how many outputs could not be
 * cleared, with a sentence. */
unsigned td_board_lines_clear(const struct td_config *config, const char *file, struct td_error *err);

/* The label of a chip that no longer answers, borrowed until the lines are closed; NULL = none is known. */
const char *td_board_lines_lost(const struct td_config *config, const struct td_lines *lines);

#endif
