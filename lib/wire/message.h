/* SPDX-License-Identifier: MIT */
/*
 * One line of the socket, read as JSON-RPC 2.0: a call, or a batch of calls. Knows no method.
 *
 * Stricter than RFC 8259 demands, as its section 9 allows: at most TD_LINE_MAX bytes and TD_DEPTH_MAX
 * levels; a name twice in an object, a lone surrogate, U+0000 and a number that does not fit are
 * refused. Stricter than JSON-RPC: members of a call other than the four it defines are refused, and an
 * id is a string, an integer of at most 53 bits, or null.
 */
#ifndef TD_WIRE_MESSAGE_H
#define TD_WIRE_MESSAGE_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include "wire/fault.h"
#include "wire/limits.h"

struct td_message {
	json_t *root; /* owned */
	bool batch;
	size_t count; /* calls, 1 ... TD_BATCH_MAX */
};

struct td_call {
	json_t *id; /* borrowed from the message; NULL: a notification, never to be answered */
	const char *method;
	json_t *params; /* an object, an array, or NULL for none; borrowed */
};

/* Reads a line (any bytes). False: *fault says why, the whole line is to be answered with it under
 * the id null, and there is nothing to free. */
bool td_message_read(const char *line, size_t length, struct td_message *message, struct td_fault *fault);

void td_message_free(struct td_message *message);

/* The call at `index` < message->count. False: it is none, *fault says why; it is to be answered under
 * call->id, or under null where call->id is NULL. */
bool td_message_call(const struct td_message *message, size_t index, struct td_call *call,
		     struct td_fault *fault);

#endif
