/* SPDX-License-Identifier: MIT */
#include "daemon/session.h"

#include <errno.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <linux/sockios.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <event2/buffer.h>
#include <event2/event.h>

#include "daemon/front_inside.h"
#include "daemon/heap.h"

/* --- out ------------------------------------------------------------------------------------------- */

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
static void end_if_done(struct td_session *session)
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

void td_session_send(struct td_session *session, const char *text, size_t length)
{
	size_t put = 0;

	if (session->doomed || session->parting)
		return;
	if (evbuffer_get_length(session->out) == 0)
		put = push(session, text, length);
	if (put == length || session->doomed)
		return;
	if (evbuffer_get_length(session->out) + (length - put) > TD_BACKLOG_MAX)
		td_session_part(session, "the client does not read what it asked for",
				"connect again, and read all that comes");
	else
		keep(session, text + put, length - put);
}

bool td_session_reads(const struct td_session *session)
{
	return !session->doomed && !session->parting && evbuffer_get_length(session->out) == 0;
}

void td_session_call_again(struct td_session *session)
{
	event_add(session->writable, NULL);
}

/* What waits stays in front of it, so that the client gets whole lines. */
void td_session_part(struct td_session *session, const char *why, const char *remedy)
{
	size_t length = 0;

	if (session->doomed || session->parting)
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

static void on_writable(evutil_socket_t fd, short what, void *context)
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
	end_if_done(session);
}

void td_session_finish(struct td_exchange *exchange)
{
	struct td_session *session = exchange->session;
	size_t length = 0;
	char *text = session->doomed || session->parting ? NULL : td_reply_text(&exchange->reply, &length);
	bool follows = exchange->follows > 0;

	session->follower.starting -= exchange->follows;

	TAILQ_REMOVE(&session->exchanges, exchange, link);
	td_reply_free(&exchange->reply);
	free(exchange);
	if (text)
		td_session_send(session, text, length);
	free(text);
	if (follows && !session->doomed)
		td_session_call_again(session);
	end_if_done(session);
}

/* --- in -------------------------------------------------------------------------------------------- */

/* The line the client is in the middle of gets an error, and is its last. */
static void refuse_line(struct td_session *session, const struct td_fault *fault, const char *why)
{
	struct td_exchange *exchange = td_heap_take(sizeof(*exchange));

	exchange->session = session;
	td_reply_start(&exchange->reply, false);
	TAILQ_INSERT_TAIL(&session->exchanges, exchange, link);
	td_reply_error(&exchange->reply, NULL, td_fault_object(fault));
	td_session_finish(exchange);
	td_session_doom(session, why);
}

static void refuse_long_line(struct td_session *session)
{
	struct td_fault fault;

	td_fault_set(&fault, TD_CODE_PARSE, "connect again and send shorter lines",
		     "the line is longer than %d bytes; the connection ends here", TD_LINE_MAX);
	refuse_line(session, &fault, "a line was too long");
}

static void refuse_half_line(struct td_session *session)
{
	struct td_fault fault;

	td_fault_set(&fault, TD_CODE_PARSE, "connect again and send whole lines, each with its newline",
		     "the line was not finished within %d s; the connection ends here", TD_LINE_DUE_S);
	refuse_line(session, &fault, "a line was begun and not finished");
}

/* Each line was heard when its bytes were read, but later than the line before it, so that a request that
 * follows a stop is not overtaken by it. What a stop has passed was heard no later than that stop. */
static void take_line(struct td_session *session, const char *line, size_t length)
{
	td_ns passed_ns = td_line_passed(&session->in, line);

	if (passed_ns == TD_NEVER)
		session->last_ns =
			session->read_ns > session->last_ns ? session->read_ns : session->last_ns + 1;
	session->heard_ns = td_time_earlier(session->last_ns, passed_ns);
	td_front_line(session, line, length);
	if (session->malformed >= TD_MALFORMED_MAX)
		td_session_doom(session, "too many lines were no calls");
}

/* How long a line of a visitor has to wait: for the rate of the connection, and for that of its user over all connections. A
 * connection that sends little does not wait for the others of its user. */
static td_ns wait_of(const struct td_session *session, td_ns now_ns)
{
	td_ns own_ns = td_rate_wait(&session->rate, now_ns);
	td_ns floor_ns = td_rate_wait(&session->floor, now_ns);
	td_ns user_ns = td_user_wait(session->user, now_ns);
	td_ns shared_ns = user_ns < floor_ns ? user_ns : floor_ns;

	return own_ns > shared_ns ? own_ns : shared_ns;
}

static bool may_go_on(struct td_session *session)
{
	td_ns now_ns = td_clock_now();

	if (session->role == TD_ROLE_KEEPER)
		return true;
	if (wait_of(session, now_ns) > 0)
		return false;
	(void)td_rate_take(&session->rate, now_ns);
	(void)td_rate_take(&session->floor, now_ns);
	td_user_line(session->user, now_ns);
	return true;
}

static bool is_served(const struct td_session *session)
{
	return !session->doomed && !session->parting;
}

/* R7: a stop does not wait until it is its turn. Bounded for visitors, or stops would go round their rate: what comes faster
 * waits in its place, behind one that has just been carried out. */
static void look_ahead(struct td_session *session)
{
	const char *line = NULL;
	size_t length = 0;

	while (is_served(session) && td_line_look(&session->in, &line, &length)) {
		if (!td_front_urgent(line, length))
			continue;
		if (session->role == TD_ROLE_VISITOR && !td_rate_take(&session->ahead, td_clock_now()))
			continue;
		take_line(session, line, length);
		td_line_take_out(&session->in, session->heard_ns);
		session->begun_ns = 0; /* what follows it was begun later */
	}
}

/* Reads while there is room, and watches for the client's going away while there is none. */
static void go_on_reading(struct td_session *session)
{
	size_t room = 0;

	(void)td_line_space(&session->in, &room);
	if (!is_served(session) || session->input_over)
		return;
	if (room >= TD_READ_MAX) {
		event_del(session->hangup);
		event_add(session->readable, NULL);
	} else {
		event_del(session->readable);
		if (!session->gone)
			event_add(session->hangup, NULL);
	}
}

/* The visitor's rate allows the next line only later. What it sends meanwhile is looked at all the same. */
static void wait_for_rate(struct td_session *session)
{
	struct timeval wait = td_front_span(wait_of(session, td_clock_now()));

	event_add(session->work, &wait);
}

/* What a visitor has sent and what is read of it both count, so that neither many lines nor single bytes get it in front of
 * those who send less. An event that is active keeps its place until
 * its next turn. */
static void count(struct td_session *session)
{
	if (session->role == TD_ROLE_KEEPER)
		return;
	session->busy = !td_rate_charge(&session->calm, td_clock_now());
	event_priority_set(session->readable, session->busy ? TD_VISITORS : TD_HEAR_VISITORS);
	event_priority_set(session->work, session->busy ? TD_BUSY_VISITORS : TD_VISITORS);
}

/* Takes lines out of the buffer, some at a time: others have their turn in between. */
static void take_lines(struct td_session *session)
{
	const char *line = NULL;
	size_t length = 0;

	for (unsigned int taken = 0; is_served(session) && td_line_waits(&session->in); taken++) {
		if (taken == TD_LINES_AT_ONCE) {
			event_active(session->work, EV_TIMEOUT, 0);
			return;
		}
		if (!may_go_on(session)) {
			wait_for_rate(session);
			return;
		}
		count(session);
		session->begun_ns = 0;
		if (td_line_next(&session->in, &line, &length) == TD_LINE_READY)
			take_line(session, line, length);
		else
			refuse_long_line(session);
	}
}

/* Where no whole line waits, what is there is the beginning of one. */
static void note_half_line(struct td_session *session)
{
	if (td_line_waits(&session->in))
		return;
	if (session->in.from == session->in.to)
		session->begun_ns = 0;
	else if (session->begun_ns == 0)
		session->begun_ns = session->read_ns;
}

static void on_work(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	if (!is_served(session))
		return;
	take_lines(session);
	note_half_line(session);
	go_on_reading(session);
	end_if_done(session);
}

static void input_over(struct td_session *session)
{
	session->input_over = true;
	event_del(session->readable);
	event_del(session->hangup);
	td_front_gone(session->front, session);
	end_if_done(session);
}

static void read_some(struct td_session *session)
{
	size_t room = 0;
	char *space = td_line_space(&session->in, &room);
	ssize_t got = recv(session->fd, space, room < TD_READ_MAX ? room : TD_READ_MAX, MSG_DONTWAIT);

	if (got > 0) {
		session->read_ns = td_clock_now();
		td_line_filled(&session->in, (size_t)got);
		count(session);
		look_ahead(session);
	} else if (got == 0) {
		input_over(session);
	} else if (errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR) {
		td_session_doom(session, NULL);
	}
}

/* Comes before all work: whatever arrived anywhere is read, and its stops are carried out, before any line is taken that waits. */
static void on_readable(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	if (!is_served(session))
		return;
	read_some(session);
	note_half_line(session);
	go_on_reading(session);
	if (is_served(session) && td_line_waits(&session->in) &&
	    !event_pending(session->work, EV_TIMEOUT, NULL))
		event_active(session->work, EV_TIMEOUT, 0);
}

/* Its holds end now; what it sent before still is read, in its turn, but starts nothing. */
static void on_hangup(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	event_del(session->hangup);
	td_front_gone(session->front, session);
}

/* --- life ------------------------------------------------------------------------------------------ */

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

	session->readable = watch(session, EV_READ | EV_PERSIST, on_readable, hear);
	session->hangup = watch(session, EV_CLOSED | EV_PERSIST, on_hangup, hear);
	session->writable = watch(session, EV_WRITE, on_writable, work);
	session->work = watch(session, EV_TIMEOUT, on_work, work);
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
	session->ahead = td_rate_of(TD_S(1) / TD_VISITOR_STOPS_PER_S, TD_VISITOR_STOPS_BURST);
	watch_all(session);
	event_add(session->readable, NULL);
	TAILQ_INSERT_TAIL(&door->sessions, session, link);
	door->count++;
	return session;
}

/* The socket is not writable again before the client has read most of what is in it: look at how much that is. */
static bool has_stalled(struct td_session *session, td_ns now_ns)
{
	int unread = unread_in_socket(session);

	if (evbuffer_get_length(session->out) == 0)
		return false;
	if (unread != session->unread)
		session->taken_ns = now_ns;
	session->unread = unread;
	return now_ns - session->taken_ns > TD_S(TD_STALLED_S);
}

void td_session_tend(struct td_session *session, td_ns now_ns)
{
	if (session->doomed)
		return;
	if (session->parting) {
		if (now_ns - session->parting_ns > TD_S(TD_PARTING_S))
			td_session_doom(session, NULL);
	} else if (has_stalled(session, now_ns)) {
		td_session_doom(session, "the client has not read for too long");
	} else if (session->begun_ns != 0 && now_ns - session->begun_ns > TD_S(TD_LINE_DUE_S)) {
		refuse_half_line(session);
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
