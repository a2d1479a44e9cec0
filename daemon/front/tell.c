/* SPDX-License-Identifier: MIT */
/* What the front tells the scribe: who came and went, and whom it turned away without the mover. */
#include <string.h>

#include "daemon/front/inside.h"

/* Our own choice, no source: a person who tries is seen, a program that tries for ever fills nothing. */
enum { REFUSALS_PER_S = 10, REFUSALS_BURST = 50 };

void td_front_tell_start(struct td_front *front, const struct td_shared *shared)
{
	front->teller.clients = shared ? shared->clients : NULL;
	front->teller.refusals = td_rate_of(TD_S(1) / REFUSALS_PER_S, REFUSALS_BURST);
	front->tally = shared ? shared->tally : NULL;
}

/* The number counts what did not fit, too. */
static void put(struct td_front *front, enum td_entry_kind kind, const struct td_entry_session *what)
{
	struct td_entry entry;

	if (!front->teller.clients)
		return;
	memset(&entry, 0, sizeof(entry));
	entry.kind = kind;
	entry.number = front->teller.number++;
	entry.at_ns = td_clock_now();
	entry.as.session = *what;
	(void)td_queue_put(front->teller.clients, &entry);
}

static struct td_entry_session of(const struct td_session *session)
{
	return (struct td_entry_session){
		.session = session->id,
		.uid = session->who.uid,
		.role = (uint8_t)session->role,
	};
}

void td_front_tell_session(struct td_front *front, const struct td_session *session, bool came)
{
	struct td_entry_session what = of(session);

	what.came = came;
	put(front, TD_ENTRY_SESSION, &what);
}

static void put_refusal(struct td_front *front, struct td_entry_session what, enum td_cause cause)
{
	what.cause = (uint8_t)cause;
	if (td_rate_take(&front->teller.refusals, td_clock_now()))
		put(front, TD_ENTRY_REFUSED, &what);
}

void td_front_tell_refused(struct td_front *front, const struct td_session *session, enum td_cause cause)
{
	put_refusal(front, of(session), cause);
}

void td_front_tell_overtaken(struct td_front *front, const struct td_order *order)
{
	const struct td_entry_session what = {
		.session = order->session, .uid = UINT32_MAX, .role = order->role};

	put_refusal(front, what, TD_CAUSE_OVERTAKEN);
}
