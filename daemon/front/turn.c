/* SPDX-License-Identifier: MIT */
/*
 * Visitors take turns (turns/turns.h). Whoever loses a turn loses every hold with it, before the next one can begin: the pause
 * between them lets the machine come to rest. Everybody who follows is told of every change, each as it concerns it.
 */
#include <stdlib.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"

static const struct td_turn_rules *rules_of(const struct td_front *front)
{
	return &front->config->turns;
}

static bool takes_turns(const struct td_session *session)
{
	return session->role == TD_ROLE_VISITOR && rules_of(session->front)->length_ns > 0;
}

/* --- what is told ---------------------------------------------------------------------------------------- */

static json_t *ms_of(td_ns span_ns)
{
	return json_integer((span_ns + TD_MS(1) - 1) / TD_MS(1));
}

json_t *td_front_turn_object(const struct td_session *session)
{
	const struct td_front *front = session->front;
	const struct td_turns *turns = &front->turns;
	const struct td_turn_rules *rules = rules_of(front);
	int place = td_turns_place(turns, session->id);
	int asked = place == TD_NO_PLACE ? turns->places : place;
	td_ns now_ns = td_clock_now();
	json_t *object = json_pack("{s:b, s:b, s:i, s:o}", "needed", takes_turns(session), "closed",
				   turns->closed, "line", turns->places, "place",
				   place == TD_NO_PLACE ? json_null() : json_integer(place));

	json_object_set_new(object, "yours", json_boolean(td_turns_holder(turns) == session->id));
	json_object_set_new(object, "wait_ms", ms_of(td_turns_wait(turns, rules, asked, now_ns)));
	json_object_set_new(object, "left_ms", ms_of(td_turns_left(turns, rules, now_ns)));
	return object;
}

static const char *why_ended(enum td_turn_end end)
{
	switch (end) {
	case TD_TURN_TIME: return "its time is over";
	case TD_TURN_IDLE: return "nothing was asked for";
	case TD_TURN_LEFT: return "the visitor left";
	case TD_TURN_KEEPER: return "the keeper ended it";
	case TD_TURN_GOES_ON:
	default: return "it goes on";
	}
}

/* --- what follows ---------------------------------------------------------------------------------------- */

static void plan(struct td_front *front)
{
	td_ns due_ns = td_turns_due(&front->turns, rules_of(front));

	event_del(front->turn_due);
	if (due_ns == TD_NEVER)
		return;
	struct timeval span = td_front_span(td_time_between(td_clock_now(), due_ns));

	event_add(front->turn_due, &span);
}

static void announce(struct td_front *front, struct td_turn_news news)
{
	td_ns now_ns = td_clock_now();

	if (news.ended != TD_TURN_GOES_ON)
		td_journal_say(&front->about_clients, now_ns, TD_PRIORITY_INFO, "session %u had its turn: %s",
			       news.ended_session, why_ended(news.ended));
	if (news.began_session != 0)
		td_journal_say(&front->about_clients, now_ns, TD_PRIORITY_INFO, "session %u has the turn",
			       news.began_session);
	plan(front);
	td_front_follow_tell(front, (struct td_change){.turn = true});
}

static void act_on(struct td_front *front, struct td_turn_news news)
{
	if (news.ended != TD_TURN_GOES_ON) {
		td_front_end_holds(front, TD_EVENT_TURN_OVER, news.ended_session, TD_ROLE_VISITOR);
		td_front_token_turn_lost(front, news.ended_session);
	}
	announce(front, news);
}

static void on_due(evutil_socket_t fd, short what, void *context)
{
	struct td_front *front = context;
	struct td_turn_news news = td_turns_tend(&front->turns, rules_of(front), td_clock_now());

	(void)fd;
	(void)what;
	if (news.ended != TD_TURN_GOES_ON || news.began_session != 0)
		act_on(front, news);
	else
		plan(front);
}

void td_front_turn_start(struct td_front *front)
{
	td_turns_init(&front->turns, td_clock_now());
	front->turn_due = td_heap_must(evtimer_new(front->base, on_due, front));
	event_priority_set(front->turn_due, TD_FIRST);
}

void td_front_turn_end(struct td_front *front)
{
	event_free(front->turn_due);
}

/* --- what is asked --------------------------------------------------------------------------------------- */

enum td_cause td_front_turn_refusal(const struct td_session *session)
{
	const struct td_front *front = session->front;

	if (session->role == TD_ROLE_KEEPER || td_turns_may(&front->turns, rules_of(front), session->id))
		return TD_CAUSE_NONE;
	return front->turns.closed ? TD_CAUSE_VISITORS_OUT : TD_CAUSE_NOT_YOUR_TURN;
}

/* It makes what is due come later only: the look at the time planned before plans anew. */
void td_front_turn_use(struct td_session *session)
{
	td_turns_use(&session->front->turns, session->id, td_clock_now());
}

static enum td_cause join(struct td_session *session)
{
	struct td_front *front = session->front;
	td_ns now_ns = td_clock_now();

	if (session->gone)
		return TD_CAUSE_CLIENT_GONE;
	if (!takes_turns(session))
		return TD_CAUSE_NO_TURN_NEEDED;
	switch (td_turns_join(&front->turns, rules_of(front), session->id, session->who.uid, now_ns)) {
	case TD_TURN_IN_LINE:
		act_on(front, td_turns_tend(&front->turns, rules_of(front), now_ns));
		return TD_CAUSE_IN_LINE;
	case TD_TURN_TWICE: return TD_CAUSE_IN_LINE;
	case TD_TURN_FULL:
	case TD_TURN_USER_FULL:
	default: return TD_CAUSE_LINE_FULL;
	}
}

static enum td_cause leave(struct td_session *session)
{
	struct td_front *front = session->front;

	if (td_turns_place(&front->turns, session->id) == TD_NO_PLACE)
		return TD_CAUSE_NOT_IN_LINE;
	act_on(front, td_turns_leave(&front->turns, rules_of(front), session->id, td_clock_now()));
	return TD_CAUSE_OUT_OF_LINE;
}

static enum td_cause end_turn(struct td_front *front)
{
	if (td_turns_holder(&front->turns) == 0)
		return TD_CAUSE_NO_TURN;
	act_on(front, td_turns_end(&front->turns, rules_of(front), td_clock_now()));
	return TD_CAUSE_TURN_ENDED;
}

/* Without turns any visitor may be moving something. */
static void end_all_holds(struct td_front *front)
{
	struct td_session *session;

	TAILQ_FOREACH(session, &front->door[TD_ROLE_VISITOR].sessions, link)
	if (!session->gone)
		td_front_end_holds(front, TD_EVENT_TURN_OVER, session->id, TD_ROLE_VISITOR);
}

static enum td_cause close_or_open(struct td_front *front, bool closed)
{
	if (closed && !front->turns.closed && rules_of(front)->length_ns == 0)
		end_all_holds(front);
	act_on(front, td_turns_close(&front->turns, rules_of(front), closed, td_clock_now()));
	return closed ? TD_CAUSE_CLOSED : TD_CAUSE_OPEN;
}

void td_front_turn_gone(struct td_session *session)
{
	struct td_front *front = session->front;

	if (td_turns_place(&front->turns, session->id) != TD_NO_PLACE)
		announce(front, td_turns_leave(&front->turns, rules_of(front), session->id, td_clock_now()));
}

enum td_cause td_front_turn_call(struct td_session *session, enum td_method_id method)
{
	switch ((int)method) {
	case TD_METHOD_JOIN: return join(session);
	case TD_METHOD_LEAVE: return leave(session);
	case TD_METHOD_NEXT: return end_turn(session->front);
	case TD_METHOD_CLOSE: return close_or_open(session->front, true);
	case TD_METHOD_OPEN: return close_or_open(session->front, false);
	default: return TD_CAUSE_INTERNAL;
	}
}
