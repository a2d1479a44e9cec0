/* SPDX-License-Identifier: MIT */
/* What the front asks for. */
#include "daemon/clock.h"
#include "daemon/mover/inside.h"

/* In one cycle: a storm of orders must not keep levels waiting. */
enum { ORDERS_MAX = 32 };

static struct td_event order_event(const struct td_order *order, td_ns now_ns)
{
	return (struct td_event){
		.kind = (enum td_event_kind)order->kind,
		.at_ns = now_ns,
		.axis = order->axis,
		.way = order->way,
		.role = order->role,
		.session = order->session,
		.hold = order->hold,
		.seq = order->seq,
		.lease_ns = order->lease_ns,
		.heard_ns = order->heard_ns,
	};
}

/* What the front may ask. It cannot arm, nor invent levels. */
static bool may_order(uint32_t kind)
{
	return kind == TD_EVENT_REQUEST || kind == TD_EVENT_RELEASE || kind == TD_EVENT_GONE ||
	       kind == TD_EVENT_TURN_OVER || kind == TD_EVENT_STOP || kind == TD_EVENT_LATCH ||
	       kind == TD_EVENT_RESET || kind == TD_EVENT_COOLED || kind == TD_EVENT_UNTWISTED;
}

static void note_stop_latency(struct td_mover *mover, const struct td_order *order)
{
	td_ns span_ns = td_time_between(order->heard_ns, td_clock_now());

	if (order->kind == TD_EVENT_STOP || order->kind == TD_EVENT_LATCH)
		mover->notes.machine.stop_latency_us = (uint32_t)(span_ns / 1000 % UINT32_MAX) + 1;
}

/* R10: a latch overtakes what was queued before it. Among that may be a reset, which is of a state that somebody has found
 * wanting since: it must not undo what came later. */
static bool overtaken(struct td_mover *mover, const struct td_event *event)
{
	td_ns at_ns = td_event_heard_ns(event, event->at_ns);

	if (event->kind == TD_EVENT_LATCH && at_ns > mover->latch_heard_ns)
		mover->latch_heard_ns = at_ns;
	return event->kind == TD_EVENT_RESET && at_ns <= mover->latch_heard_ns;
}

/* The state goes out before the answer, so that who asks again right after it sees what came of it. */
static void obey(struct td_mover *mover, const struct td_order *order)
{
	if (!may_order(order->kind)) {
		td_mover_stop(mover, TD_MOVER_FRONT_GONE);
		return;
	}
	const struct td_event event = order_event(order, td_clock_now());

	if (overtaken(mover, &event)) {
		td_notes_answer(&mover->notes, mover->core.now_ns, order->tag, TD_CAUSE_OVERTAKEN);
		return;
	}
	enum td_cause answer = td_mover_step(mover, &event);

	note_stop_latency(mover, order);
	td_mover_show(mover);
	td_notes_answer(&mover->notes, mover->core.now_ns, order->tag, answer);
}

/* Takes and obeys one order; false if there is none. */
static bool take_order(struct td_mover *mover, int fd)
{
	struct td_order order;
	enum td_channel_result got = mover->ended ? TD_CHANNEL_EMPTY : td_channel_take_order(fd, &order);

	if (got == TD_CHANNEL_GONE)
		td_mover_stop(mover, TD_MOVER_FRONT_GONE);
	if (got == TD_CHANNEL_DONE)
		obey(mover, &order);
	return got == TD_CHANNEL_DONE;
}

void td_mover_take_orders(struct td_mover *mover)
{
	for (int i = 0; i < ORDERS_MAX; i++) {
		for (int k = 0; k < ORDERS_MAX && take_order(mover, mover->channel.urgent_fd); k++)
			;
		if (!take_order(mover, mover->channel.orders_fd))
			break;
	}
}
