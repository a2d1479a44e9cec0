/* SPDX-License-Identifier: MIT */
/*
 * Orders that the mover has yet to answer, and whom the answer is for. Several may wait under one tag:
 * renewals that a newer one replaced are answered together with it.
 */
#ifndef TD_DAEMON_FRONT_PENDING_H
#define TD_DAEMON_FRONT_PENDING_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/queue.h>

#include <jansson.h>

#include "core/core.h"
#include "core/time.h"

struct td_exchange;

struct td_pending {
	TAILQ_ENTRY(td_pending) link;
	uint64_t tag;
	enum td_event_kind kind;
	uint32_t session;
	uint8_t axis;
	td_ns sent_ns;
	unsigned int answers; /* that are to come; all but the last may be "not held" (see front_order.c) */
	struct td_exchange *exchange; /* the line it answers; NULL: its connection is gone; borrowed */
	json_t *id;                   /* owned */
};

TAILQ_HEAD(td_pendings, td_pending);

/* Appends a copy of *like with a reference to its id. */
void td_pending_add(struct td_pendings *list, const struct td_pending *like);

/* The first one under this tag, NULL if there is none. */
struct td_pending *td_pending_find(struct td_pendings *list, uint64_t tag);

/* The oldest one if it was sent before `before_ns`, else NULL. */
struct td_pending *td_pending_old(struct td_pendings *list, td_ns before_ns);

/* True while requests of the session for `axis` (or TD_ALL_AXES: any) are unanswered. */
bool td_pending_requests(struct td_pendings *list, uint32_t session, uint8_t axis);

/* Nobody waits for the answers of this session any more; the orders stay on the list until they are
 * answered. */
void td_pending_forget(struct td_pendings *list, uint32_t session);

/* Takes it off the list and frees it. */
void td_pending_drop(struct td_pendings *list, struct td_pending *pending);

#endif
