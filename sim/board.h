/* SPDX-License-Identifier: MIT */
/*
 * A bench board: a plant in real time behind the socket of lib/lines/board.h. One daemon at a time
 * holds it; whoever else asks is refused with a reason. When the daemon's end is closed, in whatever way,
 * all outputs fall low. A second socket takes commands in text: faults, hands, reports.
 *
 * One thread, no locks. Nothing here waits for a peer: what a slow daemon does not take is dropped, and
 * the sequence number and the page of levels tell it so.
 */
#ifndef TD_SIM_BOARD_H
#define TD_SIM_BOARD_H

#include <jansson.h>

#include "config/config.h"
#include "error.h"
#include "sim/plant.h"
#include "sim/watch.h"

struct td_board;

struct td_board_setup {
	const char *socket;                 /* path of the daemon's socket */
	const char *control;                /* path of the command socket, or NULL */
	const struct td_config *config;     /* names; must outlive the board */
	const struct td_plant_model *model; /* copied */
	struct td_watcher watcher;          /* told of everything that changes; may be empty */
	/* Makes the watcher's file complete up to `at_ns`, for the command `log`: 0, or -1 with *err. NULL: there
	 * is no file. */
	int (*flush)(void *ctx, td_ns at_ns, struct td_error *err);
	void *flush_ctx;
	td_ns (*clock)(void); /* NULL: CLOCK_MONOTONIC. A test may hand in its own. */
};

/* Listens at both paths (a socket that nobody listens at any more is replaced) and starts the plant.
 * NULL with a sentence in *err if that cannot be done. */
struct td_board *td_board_open(const struct td_board_setup *setup, struct td_error *err);

/* Waits until there is something to do, at most `timeout_ns` (TD_NEVER: without end) or until `stop_fd` (-1:
 * none) is readable; does all of it. True if stop_fd is readable. */
bool td_board_turn(struct td_board *board, td_ns timeout_ns, int stop_fd);

/* Carries out one command line, as the command socket would. Never NULL: {"ok": true, ...} or {"ok": false,
 * "error": "sentence"}. The caller owns it. */
json_t *td_board_command(struct td_board *board, const char *line);

/* All outputs low, the last change told, both sockets removed. NULL is fine. */
void td_board_close(struct td_board *board);

#endif
