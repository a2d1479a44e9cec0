/* SPDX-License-Identifier: MIT */
#include "sim/board.h"

#include <stdlib.h>

#include "daemon/clock.h"
#include "sim/board_parts.h"

/* Between two samples of position and teeth while something moves. */
#define SAMPLE_NS TD_MS(10)

/* The watch's own watcher: levels go to the daemon, everything to whoever else looks. */
static void take_change(void *ctx, const struct td_change *change)
{
	struct td_board *board = ctx;

	if (change->kind == TD_CHANGE_LEVEL)
		td_board_port_level(&board->port, change->at_ns, change->index, change->value != 0);
	if (board->setup.watcher.change)
		board->setup.watcher.change(board->setup.watcher.ctx, change);
}

struct td_board *td_board_open(const struct td_board_setup *setup, struct td_error *err)
{
	struct td_board *board = calloc(1, sizeof(*board));

	if (!board) {
		(void)td_error_set(err, "no memory for the board");
		return NULL;
	}
	board->setup = *setup;
	board->clock = setup->clock ? setup->clock : td_clock_now;
	board->control.listen_fd = -1;
	if (td_board_port_open(board, err) < 0 || td_board_control_open(board, err) < 0) {
		td_board_control_close(board);
		td_board_port_close(board);
		free(board);
		return NULL;
	}
	td_plant_init(&board->plant, setup->model, board->clock());
	td_watch_start(&board->watch, &board->plant, SAMPLE_NS, (struct td_watcher){take_change, board});
	return board;
}

void td_board_polls_add(struct td_board_polls *polls, int fd)
{
	if (fd >= 0)
		polls->poll[polls->count++] = (struct pollfd){.fd = fd, .events = POLLIN};
}

/* Sleeps until a descriptor is ready or the plant has something to do; the kernel's clock is the one the
 * plant runs by, to the nanosecond. */
static bool wait_for_something(struct td_board *board, td_ns timeout_ns, int stop_fd)
{
	struct td_board_polls polls = {0};
	td_ns now_ns = board->clock();
	td_ns next_ns = td_time_earlier(td_watch_next(&board->watch), td_board_port_deadline(&board->port));

	timeout_ns = td_time_earlier(timeout_ns,
				     next_ns == TD_NEVER ? TD_NEVER : td_time_between(now_ns, next_ns));
	struct timespec timeout = td_clock_span(timeout_ns);
	td_board_polls_add(&polls, stop_fd);
	td_board_port_polls(&board->port, &polls);
	td_board_control_polls(&board->control, &polls);
	int ready = ppoll(polls.poll, polls.count, timeout_ns == TD_NEVER ? NULL : &timeout, NULL);
	return ready > 0 && stop_fd >= 0 && polls.poll[0].revents != 0;
}

bool td_board_turn(struct td_board *board, td_ns timeout_ns, int stop_fd)
{
	bool stop = wait_for_something(board, timeout_ns, stop_fd);
	td_ns now_ns = board->clock();

	/* What the daemon has set carries its time: it comes before the plant is brought up to now. */
	td_board_port_serve(board, now_ns);
	td_watch_run(&board->watch, now_ns);
	td_board_control_serve(board);
	return stop;
}

void td_board_close(struct td_board *board)
{
	if (!board)
		return;
	td_watch_outputs(&board->watch, board->clock(), 0);
	td_board_control_close(board);
	td_board_port_close(board);
	free(board);
}
