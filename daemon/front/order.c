/* SPDX-License-Identifier: MIT */
/*
 * Orders to the mover and their answers.
 *
 * The urgent pair overtakes the orders pair, and that cuts both ways: a release or the end of a session
 * could arrive before the request that it is to end. So requests that still wait here are made void first;
 * and where some are on their way and unanswered, the release is said twice: at once, and again behind
 * them. Its answer is the first that found something to let go, else the last.
 */
#include "daemon/front/inside.h"

/* --- answers ----------------------------------------------------------------------------------------- */

static bool is_refusal(enum td_cause cause)
{
	enum td_cause_kind kind = td_cause_kind(cause);

	return kind == TD_KIND_REFUSAL || kind == TD_KIND_TRIP || cause == TD_CAUSE_NONE;
}

/* The answer to a request brings a new token; NULL is allowed. */
static void add_token(const struct td_pending *pending, json_t *to)
{
	if (pending->kind == TD_EVENT_REQUEST && to)
		json_object_set_new(to, "token", td_front_token(pending->exchange->session));
}

/* The result of a call the mover carried out. A latch also says whether it will outlive a power loss. */
static json_t *result_object(struct td_front *front, const struct td_pending *pending, enum td_cause cause)
{
	json_t *result = td_cause_object(cause);

	json_object_set_new(result, "result", json_string(td_cause_info(cause)->name));
	if (pending->kind == TD_EVENT_LATCH) {
		bool kept = front->latch.known && front->latch.saved;

		json_object_set_new(result, "kept", json_boolean(kept));
		if (!kept)
			json_object_set_new(result, "fault", td_text_object(front->latch.fault));
	}
	return result;
}

static void settle(struct td_front *front, struct td_pending *pending, json_t *result, json_t *error)
{
	struct td_exchange *exchange = pending->exchange;

	if (!exchange) {
		json_decref(result);
		json_decref(error);
		td_pending_drop(&front->pendings, pending);
		return;
	}
	add_token(pending, result ? result : json_object_get(error, "data"));
	if (result)
		td_reply_result(&exchange->reply, pending->id, result);
	else
		td_reply_error(&exchange->reply, pending->id, error);
	if (pending->kind != TD_EVENT_STOP && pending->kind != TD_EVENT_LATCH)
		exchange->session->unanswered--;
	td_pending_drop(&front->pendings, pending);
	if (td_reply_keep(&exchange->reply))
		td_session_finish(exchange);
}

/* R11: a refusal that ends by itself also says when. The state that it follows from came before the answer. */
static json_t *refusal_object(const struct td_front *front, enum td_cause cause)
{
	json_t *refusal = td_refusal_object(cause);
	td_ns wait_ns = td_time_between(td_clock_now(), front->mirror.machine.resets_free_ns);

	if (cause == TD_CAUSE_RESETS_SPENT)
		json_object_set_new(json_object_get(refusal, "data"), "wait_ms",
				    json_integer(wait_ns / TD_MS(1) + 1));
	return refusal;
}

static void settle_cause(struct td_front *front, struct td_pending *pending, enum td_cause cause)
{
	if (!is_refusal(cause)) {
		settle(front, pending, result_object(front, pending, cause), NULL);
		return;
	}
	td_front_metrics_refused(front, cause);
	settle(front, pending, NULL, refusal_object(front, cause));
}

/* The disk knows before the client does. A reset of everything that was done has cleared the latch. */
static void keep_latch(struct td_front *front, const struct td_pending *pending, enum td_cause cause)
{
	if (pending->kind == TD_EVENT_LATCH && cause == TD_CAUSE_LATCH_ASKED)
		td_front_latch_seen(front, true);
	if (pending->kind == TD_EVENT_RESET && pending->axis == TD_ALL_AXES && cause == TD_CAUSE_RESET_DONE)
		td_front_latch_seen(front, false);
}

void td_front_answer(struct td_front *front, uint64_t tag, enum td_cause cause)
{
	struct td_pending *pending = td_pending_find(&front->pendings, tag);

	if (pending && pending->answers > 1 && cause == TD_CAUSE_NOT_HELD) {
		pending->answers--;
		return;
	}
	if (pending)
		keep_latch(front, pending, cause);
	for (; pending; pending = td_pending_find(&front->pendings, tag))
		settle_cause(front, pending, cause);
}

void td_front_expire(struct td_front *front, td_ns now_ns)
{
	td_ns before_ns = now_ns - TD_MS(TD_ANSWERS_DUE_MS);
	struct td_pending *pending;
	struct td_fault fault;

	td_fault_set(&fault, TD_CODE_INTERNAL, "look at status before you go on; ask again",
		     "the mover did not answer within %d ms; take the call as not carried out",
		     TD_ANSWERS_DUE_MS);
	while ((pending = td_pending_old(&front->pendings, before_ns)))
		settle(front, pending, NULL, td_fault_object(&fault));
}

/* --- orders ------------------------------------------------------------------------------------------ */

static void make_void(struct td_front *front, const struct td_order *later)
{
	struct td_order taken;

	while (td_outbox_void(&front->orders, later, &taken)) {
		td_front_tell_overtaken(front, &taken);
		td_front_answer(front, taken.tag, TD_CAUSE_OVERTAKEN);
	}
}

static void promise(struct td_front *front, const struct td_session *session, const struct td_order *order,
		    struct td_exchange *exchange, json_t *id, bool twice)
{
	struct td_pending pending = {.tag = order->tag, .kind = (enum td_event_kind)order->kind};

	pending.session = session->id;
	pending.axis = order->axis;
	pending.sent_ns = td_clock_now();
	pending.answers = twice ? 2 : 1;
	pending.exchange = exchange;
	pending.id = id;
	td_reply_promise(&exchange->reply);
	td_pending_add(&front->pendings, &pending);
}

/* Too many unanswered calls; a stop or a latch always goes through. */
static bool turned_back(struct td_session *session, const struct td_order *order,
			struct td_exchange *exchange, json_t *id)
{
	struct td_fault fault;

	if (!exchange || order->kind == TD_EVENT_STOP || order->kind == TD_EVENT_LATCH)
		return false;
	if (session->unanswered < TD_UNANSWERED_MAX) {
		session->unanswered++;
		return false;
	}
	td_fault_set(&fault, TD_CODE_BUSY, "wait for the answers",
		     "%d calls of this connection are not answered yet", TD_UNANSWERED_MAX);
	td_reply_error(&exchange->reply, id, td_fault_object(&fault));
	return true;
}

void td_front_order(struct td_front *front, struct td_session *session, struct td_order *order,
		    struct td_exchange *exchange, json_t *id)
{
	bool queued = order->kind == TD_EVENT_REQUEST || order->kind == TD_EVENT_RESET ||
		      order->kind == TD_EVENT_COOLED || order->kind == TD_EVENT_UNTWISTED;
	struct td_outbox *box = queued ? &front->orders : &front->urgent;
	bool twice = false;

	if (turned_back(session, order, exchange, id))
		return;
	order->session = session->id;
	order->role = (uint8_t)session->role;
	order->heard_ns = session->heard_ns;
	order->tag = exchange ? ++front->last_tag : 0;
	if (!queued)
		make_void(front, order);
	if (order->kind == TD_EVENT_RELEASE)
		twice = td_pending_requests(&front->pendings, session->id, order->axis);
	bool replaced = !twice && td_outbox_replace(box, order);
	if (exchange)
		promise(front, session, order, exchange, id, twice);
	if (!replaced)
		td_outbox_send(box, order);
	if (twice)
		td_outbox_send(&front->orders, order);
}

/* A request that is on its way arrives before the second telling. */
void td_front_end_holds(struct td_front *front, enum td_event_kind why, uint32_t session, enum td_role role)
{
	struct td_order order = {.kind = why, .session = session, .axis = TD_ALL_AXES};

	order.way = TD_NO_WAY;
	order.role = (uint8_t)role;
	order.heard_ns = td_clock_now();
	make_void(front, &order);
	td_outbox_send(&front->urgent, &order);
	if (td_pending_requests(&front->pendings, session, TD_ALL_AXES))
		td_outbox_send(&front->orders, &order);
}

void td_front_gone(struct td_front *front, struct td_session *session)
{
	if (session->gone)
		return;
	session->gone = true;
	td_front_end_holds(front, TD_EVENT_GONE, session->id, session->role);
	td_front_turn_gone(session);
}
