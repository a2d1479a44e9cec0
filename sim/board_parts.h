/* SPDX-License-Identifier: MIT */
/* What the files of the board share. Private to sim/board*.c. */
#ifndef TD_SIM_BOARD_PARTS_H
#define TD_SIM_BOARD_PARTS_H

#include <poll.h>
#include <stdbool.h>
#include <stddef.h>

#include "lines/board.h"
#include "sim/board.h"

enum {
	TD_BOARD_CALLERS = 4,    /* connected, but have not said HELLO yet */
	TD_BOARD_CONTROLS = 4,   /* connections of the command socket */
	TD_BOARD_LINE_MAX = 256, /* bytes of a command */
	TD_BOARD_POLLS = 4 + TD_BOARD_CALLERS + TD_BOARD_CONTROLS,
};

/* How long a caller may take to say HELLO. */
#define TD_BOARD_HELLO_WITHIN_NS TD_S(1)

struct td_board_caller {
	int fd; /* -1 = free */
	td_ns since_ns;
};

/* The daemon's side. */
struct td_board_port {
	int listen_fd;
	struct td_board_caller caller[TD_BOARD_CALLERS];
	int daemon_fd;    /* the one that holds the board; -1 = nobody */
	td_ns taken_ns;   /* since when, with all outputs low; -1 = nobody */
	uint32_t outputs; /* what it has requested */
	uint32_t inputs;
	uint32_t seq; /* of the next EDGE */
	uint64_t edges_dropped;
	uint64_t refusals;
	int page_fd; /* read-only descriptor of the page, to be handed out */
	struct td_board_page *page;
};

struct td_board_client {
	int fd; /* -1 = free */
	size_t length;
	char line[TD_BOARD_LINE_MAX];
};

struct td_board_control {
	int listen_fd; /* -1 = no command socket */
	struct td_board_client client[TD_BOARD_CONTROLS];
};

struct td_board {
	struct td_board_setup setup;
	td_ns (*clock)(void);
	struct td_plant plant;
	struct td_watch watch;
	struct td_board_port port;
	struct td_board_control control;
};

/* A set of descriptors for ppoll; those of -1 are passed over. */
struct td_board_polls {
	nfds_t count;
	struct pollfd poll[TD_BOARD_POLLS];
};

void td_board_polls_add(struct td_board_polls *polls, int fd);

/* --- board_socket.c ---------------------------------------------------------------------------------- */

/* A non-blocking listening Unix socket of `type` at `path`, or -1 with a sentence. */
int td_board_listen(const char *path, int type, struct td_error *err);

/* The next connection, non-blocking, or -1. */
int td_board_accept(int listen_fd);

/* Closes a descriptor if there is one, and forgets it. */
void td_board_drop(int *fd);

/* --- board_port.c ------------------------------------------------------------------------------------ */

int td_board_port_open(struct td_board *board, struct td_error *err);
void td_board_port_polls(const struct td_board_port *port, struct td_board_polls *polls);

/* When a caller's patience ends; TD_NEVER if there is none. */
td_ns td_board_port_deadline(const struct td_board_port *port);

/* Takes what the daemon and callers sent until `now_ns`. */
void td_board_port_serve(struct td_board *board, td_ns now_ns);

/* A switch line has a new level: into the page, and to the daemon if it wants to know. */
void td_board_port_level(struct td_board_port *port, td_ns at_ns, uint8_t sw, bool high);

void td_board_port_close(struct td_board *board);

/* --- board_control.c --------------------------------------------------------------------------------- */

int td_board_control_open(struct td_board *board, struct td_error *err);
void td_board_control_polls(const struct td_board_control *control, struct td_board_polls *polls);
void td_board_control_serve(struct td_board *board);
void td_board_control_close(struct td_board *board);

/* --- board_report.c ---------------------------------------------------------------------------------- */

/* Everything there is to know, for the command `report`. */
json_t *td_board_report(const struct td_board *board);

#endif
