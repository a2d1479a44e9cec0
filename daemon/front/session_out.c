/* SPDX-License-Identifier: MIT */
#include "daemon/front/session_parts.h"

#include <errno.h>
#include <linux/sockios.h>
#include <stdlib.h>
#include <sys/ioctl.h>

#include <event2/buffer.h>
#include <event2/event.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"

static void log_drop(struct td_session *session, const char *why)
{
	td_journal_say(&session->front->about_clients, td_clock_now(), TD_PRIORITY_NOTICE,
		       "session %u was dropped: %s", session->id, why);
}

void td_session_doom(struct td_session *session, const char *why)
{
	struct td_front *front = session->front;

	if (session->doomed)
		return;
	session->doomed = true;
	td_front_gone(front, session);
	td_pending_forget(&front->pendings, session->id);
	event_del(session->readable);
	event_del(session->writable);
	event_del(session->hangup);
	event_del(session->work);
	event_active(front->reaper, EV_TIMEOUT, 0);
	if (why)
		log_drop(session, why);
	td_front_tell_session(front, session, false);
}

/* Nothing more will come of a client that has said all and heard all. */
void td_session_end_if_done(struct td_session *session)
{
	bool over = session->parting || (session->input_over && !td_line_waits(&session->in) &&
					 TAILQ_EMPTY(&session->exchanges) && !td_front_follow_owes(session));

	if (over && evbuffer_get_length(session->out) == 0)
		td_session_doom(session, NULL);
}

/* How much the socket took; 0 when it is full or dead (a dead one says so to the reader as well). */
static size_t push(struct td_session *session, const void *bytes, size_t length)
{
	ssize_t put;

	do
		put = send(session->fd, bytes, length, MSG_NOSIGNAL | MSG_DONTWAIT);
	while (put < 0 && errno == EINTR);
	if (put < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != ENOBUFS)
		td_session_doom(session, NULL);
	return put > 0 ? (size_t)put : 0;
}

/* In the measure of the kernel; it counts down only where the client reads. */
static int unread_in_socket(const struct td_session *session)
{
	int unread = 0;

	return ioctl(session->fd, SIOCOUTQ, &unread) == 0 ? unread : 0;
}

static void keep(struct td_session *session, const char *text, size_t length)
{
	if (evbuffer_get_length(session->out) == 0) {
		session->unread = unread_in_socket(session);
		session->taken_ns = td_clock_now();
	}
	if (evbuffer_add(session->out, text, length) != 0)
		td_heap_must(NULL);
	event_add(session->writable, NULL);
}

/* Of a line that was sent in part nothing can be said but by the end of the connection: a last word would stand behind the
 * half of it. */
static void refuse_to_keep(struct td_session *session, size_t sent)
{
	static const char why[] = "the client does not read what it asked for";

	if (sent > 0)
		td_session_doom(session, why);
	else
		td_session_part(session, why, "connect again, and read all that comes");
}

void td_session_send(struct td_session *session, const char *text, size_t length)
{
	size_t put = 0;

	if (!td_session_is_served(session))
		return;
	if (evbuffer_get_length(session->out) == 0)
		put = push(session, text, length);
	if (put == length || session->doomed)
		return;
	if (evbuffer_get_length(session->out) + (length - put) > TD_BACKLOG_MAX)
		refuse_to_keep(session, put);
	else
		keep(session, text + put, length - put);
}

bool td_session_reads(const struct td_session *session)
{
	return td_session_is_served(session) && evbuffer_get_length(session->out) == 0;
}

void td_session_call_soon(struct td_session *session)
{
	event_active(session->writable, EV_WRITE, 0);
}

/* What waits stays in front of it, so that the client gets whole lines. */
void td_session_part(struct td_session *session, const char *why, const char *remedy)
{
	size_t length = 0;

	if (!td_session_is_served(session))
		return;
	session->parting = true;
	session->parting_ns = td_clock_now();
	session->follower.on = false;
	td_front_gone(session->front, session);
	td_pending_forget(&session->front->pendings, session->id);
	event_del(session->readable);
	event_del(session->hangup);
	event_del(session->work);
	char *text = td_notification_text(
		"dropped", json_pack("{s:s, s:s}", "sentence", why, "remedy", remedy), &length);

	keep(session, text, length);
	free(text);
	log_drop(session, why);
}

void td_session_writable(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;
	size_t length = evbuffer_get_length(session->out);
	ev_ssize_t some = length < TD_READ_MAX ? (ev_ssize_t)length : TD_READ_MAX;

	(void)fd;
	(void)what;
	if (length > 0) {
		evbuffer_drain(session->out,
			       push(session, evbuffer_pullup(session->out, some), (size_t)some));
	}
	if (session->doomed)
		return;
	if (evbuffer_get_length(session->out) > 0)
		event_add(session->writable, NULL);
	else
		td_front_follow_on(session);
	td_session_end_if_done(session);
}

void td_session_finish(struct td_exchange *exchange)
{
	struct td_session *session = exchange->session;
	size_t length = 0;
	char *text = td_session_is_served(session) ? td_reply_text(&exchange->reply, &length) : NULL;
	bool follows = exchange->follows > 0;

	/* What came of a call is told before its answer. */
	if (text)
		td_front_follow_on(session);

	session->follower.starting -= exchange->follows;

	TAILQ_REMOVE(&session->exchanges, exchange, link);
	td_reply_free(&exchange->reply);
	free(exchange);
	if (text)
		td_session_send(session, text, length);
	free(text);
	if (follows && !session->doomed)
		td_session_call_soon(session);
	td_session_end_if_done(session);
}

/* The socket is not writable again before the client has read most of what is in it: look at how much that is. */
bool td_session_has_stalled(struct td_session *session, td_ns now_ns)
{
	int unread = unread_in_socket(session);

	if (evbuffer_get_length(session->out) == 0)
		return false;
	if (unread != session->unread)
		session->taken_ns = now_ns;
	session->unread = unread;
	return now_ns - session->taken_ns > TD_S(TD_STALLED_S);
}
