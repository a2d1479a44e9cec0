/* SPDX-License-Identifier: MIT */
#include "daemon/front/session.h"

#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

#include <event2/buffer.h>
#include <event2/event.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"
#include "daemon/front/session_parts.h"

static struct event *watch(struct td_session *session, short what, event_callback_fn call,
			   enum td_front_priority priority)
{
	struct td_front *front = session->front;
	struct event *event = event_new(front->base, session->fd, what, call, session);

	event_priority_set(td_heap_must(event), priority);
	return event;
}

static void watch_all(struct td_session *session)
{
	bool keeper = session->role == TD_ROLE_KEEPER;
	enum td_front_priority hear = keeper ? TD_HEAR_KEEPERS : TD_HEAR_VISITORS;
	enum td_front_priority work = keeper ? TD_KEEPERS : TD_VISITORS;

	session->readable = watch(session, EV_READ | EV_PERSIST, td_session_readable, hear);
	session->hangup = watch(session, EV_CLOSED | EV_PERSIST, td_session_hung_up, hear);
	session->writable = watch(session, EV_WRITE, td_session_writable, work);
	session->work = watch(session, EV_TIMEOUT, td_session_work, work);
}

/* Zeroed pages of its own: of the room for lines, only what a client ever filled is memory. From the heap it would be what others have
 * used before, all of it. */
static struct td_session *new_session(void)
{
	void *pages = mmap(NULL, sizeof(struct td_session), PROT_READ | PROT_WRITE,
			   MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);

	return td_heap_must(pages == MAP_FAILED ? NULL : pages);
}

struct td_session *td_session_open(struct td_door *door, int fd, uint32_t id, const struct ucred *who,
				   struct td_user *user)
{
	struct td_session *session = new_session();

	session->front = door->front;
	session->door = door;
	session->id = id;
	session->role = door->role;
	session->fd = fd;
	session->who = *who;
	session->user = user;
	session->out = td_heap_must(evbuffer_new());
	session->rate = td_rate_of(TD_S(1) / TD_VISITOR_LINES_PER_S, TD_VISITOR_BURST);
	session->floor = td_rate_of(TD_S(1) / TD_FLOOR_LINES_PER_S, TD_FLOOR_BURST);
	TAILQ_INIT(&session->exchanges);
	session->calm = td_rate_of(TD_S(1) / TD_CALM_PER_S, TD_CALM_BURST);
	session->ahead = td_rate_of(TD_S(1) / TD_VISITOR_LOOKS_PER_S, TD_VISITOR_LOOKS_BURST);
	watch_all(session);
	event_add(session->readable, NULL);
	TAILQ_INSERT_TAIL(&door->sessions, session, link);
	door->count++;
	return session;
}

void td_session_tend(struct td_session *session, td_ns now_ns)
{
	if (session->doomed)
		return;
	if (session->parting) {
		if (now_ns - session->parting_ns > TD_S(TD_PARTING_S))
			td_session_doom(session, NULL);
	} else if (td_session_has_stalled(session, now_ns)) {
		td_session_doom(session, "the client has not read for too long");
	} else if (session->begun_ns != 0 && now_ns - session->begun_ns > TD_S(TD_LINE_DUE_S)) {
		td_session_refuse_half_line(session);
	}
}

void td_session_free(struct td_session *session)
{
	struct td_exchange *exchange;

	while ((exchange = TAILQ_FIRST(&session->exchanges))) {
		TAILQ_REMOVE(&session->exchanges, exchange, link);
		td_reply_free(&exchange->reply);
		free(exchange);
	}
	TAILQ_REMOVE(&session->door->sessions, session, link);
	session->door->count--;
	td_user_went(session->user);
	event_free(session->readable);
	event_free(session->writable);
	event_free(session->hangup);
	event_free(session->work);
	evbuffer_free(session->out);
	close(session->fd);
	(void)munmap(session, sizeof(*session));
}
