/* SPDX-License-Identifier: MIT */
#include "daemon/front/outbox.h"

#include <errno.h>
#include <stdlib.h>
#include <sys/socket.h>

#include <event2/event.h>

#include "daemon/heap.h"

enum outcome { SENT, WAITS, BROKEN };

void td_outbox_start(struct td_outbox *box, int fd, struct event *writable)
{
	box->fd = fd;
	box->broken = false;
	box->writable = writable;
	STAILQ_INIT(&box->waiting);
}

static enum outcome push(struct td_outbox *box, const struct td_order *order)
{
	ssize_t put;

	do
		put = send(box->fd, order, sizeof(*order), MSG_NOSIGNAL | MSG_DONTWAIT);
	while (put < 0 && errno == EINTR);
	if (put == (ssize_t)sizeof(*order))
		return SENT;
	if (put < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == ENOBUFS))
		return WAITS;
	box->broken = true;
	return BROKEN;
}

void td_outbox_send(struct td_outbox *box, struct td_order *order)
{
	order->magic = TD_MSG_MAGIC;
	if (box->broken || (STAILQ_EMPTY(&box->waiting) && push(box, order) != WAITS))
		return;
	struct td_outbox_entry *entry = td_heap_take(sizeof(*entry));

	entry->order = *order;
	STAILQ_INSERT_TAIL(&box->waiting, entry, link);
	if (box->writable)
		event_add(box->writable, NULL);
}

static bool same_hold(const struct td_order *old, const struct td_order *order)
{
	return old->session == order->session && old->axis == order->axis && old->hold == order->hold;
}

/* Only a renewal gives way to a newer one: the first request of a hold has to arrive. */
static bool supersedes(const struct td_order *order, const struct td_order *old)
{
	if (old->kind != order->kind)
		return false;
	switch (order->kind) {
	case TD_EVENT_REQUEST:
		return same_hold(old, order) && old->way == order->way && old->seq > 0 &&
		       order->seq > old->seq;
	case TD_EVENT_STOP: return old->axis == order->axis;
	case TD_EVENT_LATCH: return true;
	case TD_EVENT_RELEASE: return same_hold(old, order);
	default: return false;
	}
}

bool td_outbox_replace(struct td_outbox *box, struct td_order *order)
{
	for (struct td_outbox_entry *entry = STAILQ_FIRST(&box->waiting); entry;
	     entry = STAILQ_NEXT(entry, link)) {
		if (!supersedes(order, &entry->order))
			continue;
		if (entry->order.tag != 0)
			order->tag = entry->order.tag;
		order->magic = TD_MSG_MAGIC;
		entry->order = *order;
		return true;
	}
	return false;
}

static void drop_first(struct td_outbox *box)
{
	struct td_outbox_entry *entry = STAILQ_FIRST(&box->waiting);

	STAILQ_REMOVE_HEAD(&box->waiting, link);
	free(entry);
}

void td_outbox_flush(struct td_outbox *box)
{
	while (!box->broken && !STAILQ_EMPTY(&box->waiting)) {
		if (push(box, &STAILQ_FIRST(&box->waiting)->order) != SENT)
			break;
		drop_first(box);
	}
	if (!box->broken && !STAILQ_EMPTY(&box->waiting) && box->writable)
		event_add(box->writable, NULL);
}

/* R10: a latch also takes back a reset that was asked for before it. */
static bool voids(const struct td_order *later, const struct td_order *request)
{
	if (request->kind == TD_EVENT_RESET)
		return later->kind == TD_EVENT_LATCH;
	if (request->kind != TD_EVENT_REQUEST)
		return false;
	switch (later->kind) {
	case TD_EVENT_LATCH: return true;
	case TD_EVENT_STOP: return later->axis == TD_ALL_AXES || later->axis == request->axis;
	case TD_EVENT_RELEASE:
		return later->session == request->session && later->axis == request->axis &&
		       request->hold <= later->hold;
	case TD_EVENT_GONE:
	case TD_EVENT_TURN_OVER: return later->session == request->session;
	default: return false;
	}
}

bool td_outbox_void(struct td_outbox *box, const struct td_order *later, struct td_order *taken)
{
	for (struct td_outbox_entry *entry = STAILQ_FIRST(&box->waiting); entry;
	     entry = STAILQ_NEXT(entry, link)) {
		if (!voids(later, &entry->order))
			continue;
		*taken = entry->order;
		STAILQ_REMOVE(&box->waiting, entry, td_outbox_entry, link);
		free(entry);
		return true;
	}
	return false;
}

void td_outbox_end(struct td_outbox *box)
{
	while (!STAILQ_EMPTY(&box->waiting))
		drop_first(box);
}
