/* SPDX-License-Identifier: MIT */
/*
 * What the front has to say to the mover over one socket pair: sent at once if the pair takes it, else kept
 * in order until it does. Knows which waiting orders a newer one makes superfluous; never drops one
 * silently.
 */
#ifndef TD_DAEMON_FRONT_OUTBOX_H
#define TD_DAEMON_FRONT_OUTBOX_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/queue.h>

#include "daemon/msg.h"

struct event;

struct td_outbox_entry {
	STAILQ_ENTRY(td_outbox_entry) link;
	struct td_order order;
};

struct td_outbox {
	int fd;                 /* non-blocking; borrowed */
	bool broken;            /* the other end is gone */
	struct event *writable; /* added while something waits; borrowed; NULL: the owner flushes by itself */
	STAILQ_HEAD(td_outbox_entries, td_outbox_entry) waiting;
};

void td_outbox_start(struct td_outbox *box, int fd, struct event *writable);

/* Sends the order, or keeps it. order->magic is written here. */
void td_outbox_send(struct td_outbox *box, struct td_order *order);

/* Where an order that waits says the same as this one but older (a renewal of the same hold, a stop of the
 * same axis, a latch, a release of the same hold), puts this one in its place; both are answered under one
 * tag, which is then in order->tag. False: there is none, the order has to be sent. */
bool td_outbox_replace(struct td_outbox *box, struct td_order *order);

/* Sends what waits, as far as it goes. */
void td_outbox_flush(struct td_outbox *box);

/* Takes out the first waiting request, or before a LATCH also a RESET, that `later` (STOP, LATCH, RELEASE, GONE, TURN_OVER) makes void;
 * false if there is none. */
bool td_outbox_void(struct td_outbox *box, const struct td_order *later, struct td_order *taken);

/* Throws away what still waits. */
void td_outbox_end(struct td_outbox *box);

#endif
