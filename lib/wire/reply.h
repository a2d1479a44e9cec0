/* SPDX-License-Identifier: MIT */
/*
 * The answer to one line: one response, or for a batch an array of them, sent when the last one is known.
 * A notification leaves nothing; a line of notifications alone is not answered at all.
 */
#ifndef TD_WIRE_REPLY_H
#define TD_WIRE_REPLY_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include "wire/fault.h"

struct td_reply {
	bool batch;
	size_t waiting;  /* responses promised and not yet given */
	json_t *answers; /* array of responses; owned */
};

void td_reply_start(struct td_reply *reply, bool batch);

/* A response will be given later. */
void td_reply_promise(struct td_reply *reply);

/* Gives a response. `id` is borrowed, NULL means null; `result` and `error` are taken over. One that was
 * promised is given by td_reply_keep(). */
void td_reply_result(struct td_reply *reply, json_t *id, json_t *result);
void td_reply_error(struct td_reply *reply, json_t *id, json_t *error);

/* A promised response has been given. True: it was the last, the line can be answered. */
bool td_reply_keep(struct td_reply *reply);

/* The text to send, with its newline, to be given up with free(); NULL: nothing is to be sent. */
char *td_reply_text(const struct td_reply *reply, size_t *length);

void td_reply_free(struct td_reply *reply);

/* The text of one notification from the daemon, with its newline; `params` is taken over. free() it. */
char *td_notification_text(const char *method, json_t *params, size_t *length);

#endif
