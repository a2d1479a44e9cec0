/* SPDX-License-Identifier: MIT */
/*
 * The smallest client there can be: a connection, calls on it, and the numbers of the calls that lines answer. What a client has to say
 * first stands in flood_client_greet() and nowhere else.
 */
#ifndef TD_TESTS_FLOOD_CLIENT_H
#define TD_TESTS_FLOOD_CLIENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/un.h>

#include "core/time.h"

enum { FLOOD_CALLS_LIVE = 256, FLOOD_BYTES = 16384, FLOOD_TOKEN_BYTES = 64 };

struct flood_client {
	int fd; /* -1: not connected */
	uint32_t calls;
	td_ns sent_ns[FLOOD_CALLS_LIVE]; /* of the newest calls, by their number; 0: answered */
	char token[FLOOD_TOKEN_BYTES];   /* the newest it was given; "" = none */
	size_t length;
	char bytes[FLOOD_BYTES];
};

/* What came of a look into the socket. */
struct flood_heard {
	unsigned int lines;
	unsigned int answers;
	double *answer_ms; /* room for FLOOD_CALLS_LIVE */
};

/* True if it is connected, now or before. Does not wait: a full queue of the listener is a failure. */
bool flood_client_connect(struct flood_client *client, const struct sockaddr_un *address);
void flood_client_leave(struct flood_client *client);

/* Says what is to be said first, and then calls `method`; true once that is answered. Waits for each answer at most 20 s. */
bool flood_client_greet(struct flood_client *client, const char *method);

/* True if all of it was taken. A client of whose line only a part was taken, or whose connection is gone, has left. */
bool flood_client_send(struct flood_client *client, const char *bytes, size_t length);

/* A call with parameters as JSON text, "" = none. What it needs of the greeting is the caller's to put in. */
bool flood_client_call(struct flood_client *client, const char *method, const char *params);

/* Takes what there is, without waiting. A connection that is gone is left. */
void flood_client_hear(struct flood_client *client, struct flood_heard *heard);

#endif
