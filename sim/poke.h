/* SPDX-License-Identifier: MIT */
/* The other end of a board's command socket. */
#ifndef TD_SIM_POKE_H
#define TD_SIM_POKE_H

#include <jansson.h>

#include "error.h"

/* Sends one command line (without its end) to the board whose command socket is at `control`, waits for the
 * answer, at most two seconds. The whole answer, which the caller owns; NULL with a sentence in *err if the
 * board could not be asked or answers with a refusal. */
json_t *td_poke(const char *control, const char *command, struct td_error *err);

#endif
