/* SPDX-License-Identifier: MIT */
/*
 * What the service manager hears, in the protocol that sd_notify(3) documents: one datagram a message, lines of
 * NAME=value, to the socket that the variable NOTIFY_SOCKET of the environment names. Where it names none nobody wants to
 * know, and everything here does nothing.
 *
 * After td_notify_open() nothing allocates and nothing blocks.
 */
#ifndef TD_DAEMON_NOTIFY_H
#define TD_DAEMON_NOTIFY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/socket.h>
#include <sys/un.h>

#include "core/time.h"
#include "error.h"

struct td_notify {
	int fd;              /* -1: nobody wants to know */
	td_ns feed_every_ns; /* half of what the watchdog bears; TD_NEVER: there is none */
	socklen_t to_size;
	struct sockaddr_un to;
};

/* A message that grows piece by piece; what does not fit is cut off. Start with a struct that is all zero. */
struct td_notify_text {
	size_t length;
	char bytes[1024];
};

void td_notify_add(struct td_notify_text *text, const char *piece);
void td_notify_add_number(struct td_notify_text *text, uint64_t number);

/* STATUS= and the pieces, as one line whatever stands in them. */
void td_notify_add_status(struct td_notify_text *text, const char *piece, const char *more);

/* Reads the environment: NOTIFY_SOCKET, WATCHDOG_USEC, WATCHDOG_PID. 0, or -1 with a sentence; then as if it named none. */
int td_notify_open(struct td_notify *notify, struct td_error *err);

/* One message. False: it did not go out, for now. */
bool td_notify_send(const struct td_notify *notify, const struct td_notify_text *text);

/* STATUS= alone. */
void td_notify_status(const struct td_notify *notify, const char *piece, const char *more);

#endif
