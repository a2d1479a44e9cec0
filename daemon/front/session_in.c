/* SPDX-License-Identifier: MIT */
#include "daemon/front/session_parts.h"

#include <errno.h>

#include <event2/event.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"

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

void td_session_refuse_half_line(struct td_session *session)
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

/* Visitors' lines are looked into only so often, or a flood of what seems to be stops would keep everybody else waiting. */
static bool worth_a_look(struct td_session *session, const char *line, size_t length)
{
	return td_front_maybe_urgent(line, length) &&
	       (session->role == TD_ROLE_KEEPER || td_rate_take(&session->ahead, td_clock_now()));
}

/* R7: a stop does not wait until it is its turn. One that comes too often waits in its place, behind those that were just
 * carried out. */
static void look_ahead(struct td_session *session)
{
	const char *line = NULL;
	size_t length = 0;

	while (!session->doomed && td_line_look(&session->in, &line, &length)) {
		if (!worth_a_look(session, line, length) || !td_front_urgent(line, length))
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
	if (!td_session_is_served(session) || session->input_over)
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
 * those who send less. An event that is active keeps its place until its next turn. */
static void count(struct td_session *session)
{
	if (session->role == TD_ROLE_KEEPER)
		return;
	session->busy = !td_rate_charge(&session->calm, td_clock_now());
	event_priority_set(session->readable, session->busy ? TD_VISITORS : TD_HEAR_VISITORS);
	event_priority_set(session->work, session->busy ? TD_BUSY_VISITORS : TD_VISITORS);
}

void td_session_count_calls(struct td_session *session, size_t calls)
{
	td_ns now_ns = td_clock_now();

	for (; calls > 1 && session->role == TD_ROLE_VISITOR; calls--) {
		(void)td_rate_charge(&session->rate, now_ns);
		(void)td_rate_charge(&session->calm, now_ns);
		(void)td_rate_charge(&session->floor, now_ns);
		td_user_line(session->user, now_ns);
	}
}

/* Takes lines out of the buffer, some at a time: others have their turn in between. */
static void take_lines(struct td_session *session)
{
	const char *line = NULL;
	size_t length = 0;

	for (unsigned int taken = 0; td_session_is_served(session) && td_line_waits(&session->in); taken++) {
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

void td_session_work(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	if (!td_session_is_served(session))
		return;
	take_lines(session);
	note_half_line(session);
	go_on_reading(session);
	td_session_end_if_done(session);
}

static void input_over(struct td_session *session)
{
	session->input_over = true;
	event_del(session->readable);
	event_del(session->hangup);
	td_front_gone(session->front, session);
	td_session_end_if_done(session);
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
void td_session_readable(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	if (!td_session_is_served(session))
		return;
	read_some(session);
	note_half_line(session);
	go_on_reading(session);
	if (td_session_is_served(session) && td_line_waits(&session->in) &&
	    !event_pending(session->work, EV_TIMEOUT, NULL))
		event_active(session->work, EV_TIMEOUT, 0);
}

/* Its holds end now; what it sent before still is read, in its turn, but starts nothing. */
void td_session_hung_up(evutil_socket_t fd, short what, void *context)
{
	struct td_session *session = context;

	(void)fd;
	(void)what;
	event_del(session->hangup);
	td_front_gone(session->front, session);
}
