/* SPDX-License-Identifier: MIT */
/* A board on a clock that only the test moves, and a hand-made daemon's end of its socket. */
#ifndef TD_SUPPORT_RAW_BOARD_H
#define TD_SUPPORT_RAW_BOARD_H

#include "lines/board.h"
#include "sim/board.h"
#include "sim/board_parts.h"

struct raw_board {
	char directory[64];
	char socket[96];
	char control[96];
	struct td_config config;
	struct td_plant_model model;
	struct td_board *board;
};

/* Opens the cart's board in a new temporary directory, its clock at 1 s. `watcher` may be empty. */
void raw_board_open(struct raw_board *raw, struct td_watcher watcher);
void raw_board_close(struct raw_board *raw);

/* The time on the board's clock, which stands still in between. */
td_ns raw_now(void);

/* Moves the clock, then lets the board do what there is to do. */
void raw_turn(struct raw_board *raw, td_ns passed_ns);

/* Moves the clock on to each of the plant's events in turn, as the kernel's timer would. */
void raw_run(struct raw_board *raw, td_ns passed_ns);

/* A connection that has said nothing yet; fails the test if there is none. */
int raw_connect(const struct raw_board *raw);

/* Says HELLO and lets the board answer. */
void raw_hello(struct raw_board *raw, int fd, uint32_t outputs, uint32_t inputs);

/* A connected daemon that has been welcomed; the page, if wanted, is mapped and never unmapped. */
int raw_daemon(struct raw_board *raw, uint32_t outputs, uint32_t inputs, struct td_board_page **page);

void raw_send(int fd, struct td_board_message message);
void raw_set(int fd, td_ns at_ns, uint32_t mask, uint32_t levels);

/* The next message: its kind; 0 if there is none, -1 if the board hung up. `page_fd` may be NULL. */
int raw_receive(int fd, struct td_board_message *message, int *page_fd);

#endif
