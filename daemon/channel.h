/* SPDX-License-Identifier: MIT */
/*
 * The two socket pairs between mover and front (see msg.h): made before the fork, messages of fixed size,
 * never blocking.
 */
#ifndef TD_DAEMON_CHANNEL_H
#define TD_DAEMON_CHANNEL_H

#include <stdbool.h>

#include "daemon/msg.h"
#include "error.h"

struct td_channel {
	int orders_fd;
	int urgent_fd;
};

enum td_channel_result {
	TD_CHANNEL_GONE = -1, /* the other end is closed, or said something impossible */
	TD_CHANNEL_EMPTY = 0, /* nothing there, or no room */
	TD_CHANNEL_DONE = 1,
};

/* Both ends of both pairs, non-blocking, close-on-exec. 0, or -1 with a sentence. */
int td_channel_make(struct td_channel *mover, struct td_channel *front, struct td_error *err);

void td_channel_close(struct td_channel *channel);

/* Takes the next order from one of the two descriptors. A message of the wrong size or magic is a bug of the
 * other end and counts as gone. */
enum td_channel_result td_channel_take_order(int fd, struct td_order *order);

/* True if the other end has not yet read all that was sent; for any of our socket pairs. */
bool td_channel_unread(int fd);

/* Sends a note to the front. */
enum td_channel_result td_channel_send_note(int fd, const struct td_note *note);

#endif
