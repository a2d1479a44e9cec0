/* SPDX-License-Identifier: MIT */
/* A visitor's turn, as the client sees it. */
#ifndef TD_DAEMON_CLIENT_TURN_H
#define TD_DAEMON_CLIENT_TURN_H

#include "daemon/client/cli.h"

/* The object "turn" of status, taken apart. */
struct td_turn_view {
	bool needed; /* this client moves nothing without the turn */
	bool yours;
	bool closed;     /* to visitors */
	int64_t line;    /* visitors in line, the one with the turn among them */
	int64_t place;   /* in line; -1: not in it */
	int64_t wait_ms; /* until the turn of this place, or of one who joined now */
	int64_t left_ms; /* of the turn that is on */
};

/* Reads it; one that is missing (a daemon without turns) or malformed means that no turn is needed. Total. */
struct td_turn_view td_turn_view_read(const json_t *turn);

enum { TD_TURN_SENTENCE_MAX = 160 };

/* "2 visitors in line; a turn would come in 65 s at the latest"; "" where there is nothing to tell. */
void td_turn_sentence(const struct td_turn_view *view, char out[TD_TURN_SENTENCE_MAX]);

/* Joins the line where a turn is needed and waits until it has come, telling the place on standard error. `status` is
 * what `follow` gave; `signals` as of td_signals_open(): any of them gives up. DONE, or everything has been told. */
enum td_exit td_turn_wait(struct td_cli *cli, int signals, const json_t *status);

#endif
