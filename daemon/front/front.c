/* SPDX-License-Identifier: MIT */
#include "daemon/front/front.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"

enum { NOTES_AT_ONCE = 64, CALLS_AT_ONCE = 16, MOMENT_US = 200, MACHINE_LINES = 600, CLIENT_LINES = 120 };

void td_front_end(struct td_front *front, int code)
{
	if (front->exit_code < 0)
		front->exit_code = code;
	event_base_loopbreak(front->base);
}

/* --- events ------------------------------------------------------------------------------------------ */

static void on_note(evutil_socket_t fd, short what, void *context)
{
	struct td_front *front = context;
	struct td_note note;

	(void)what;
	for (int i = 0; i < NOTES_AT_ONCE; i++) {
		ssize_t got = recv(fd, &note, sizeof(note), MSG_DONTWAIT);

		if (got == (ssize_t)sizeof(note) && note.magic == TD_MSG_MAGIC) {
			td_front_note(front, &note);
			continue;
		}
		if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR))
			return;
		/* Closed, broken, or not a note: the mover is gone or no longer what it was. */
		td_front_end(front, got > 0 ? 1 : 0);
		return;
	}
}

static void on_outbox(evutil_socket_t fd, short what, void *context)
{
	(void)fd;
	(void)what;
	td_outbox_flush(context);
}

static void on_term(evutil_socket_t signal_number, short what, void *context)
{
	(void)signal_number;
	(void)what;
	td_front_end(context, 0);
}

static void tend_sessions(struct td_door *door, td_ns now_ns)
{
	for (struct td_session *session = TAILQ_FIRST(&door->sessions); session;
	     session = TAILQ_NEXT(session, link))
		td_session_tend(session, now_ns);
}

static void on_tick(evutil_socket_t fd, short what, void *context)
{
	struct td_front *front = context;

	(void)fd;
	(void)what;
	td_front_expire(front, td_clock_now());
	tend_sessions(&front->door[TD_ROLE_KEEPER], td_clock_now());
	tend_sessions(&front->door[TD_ROLE_VISITOR], td_clock_now());
	td_front_quiet_tend(front);
	if (!front->latch.known && front->latch.seen_on)
		td_front_latch_kept(front);
	if (front->orders.broken || front->urgent.broken)
		td_front_end(front, 0);
}

static void reap_door(struct td_door *door)
{
	struct td_session *next;

	for (struct td_session *session = TAILQ_FIRST(&door->sessions); session; session = next) {
		next = TAILQ_NEXT(session, link);
		if (session->doomed)
			td_session_free(session);
	}
}

static void on_reap(evutil_socket_t fd, short what, void *context)
{
	struct td_front *front = context;

	(void)fd;
	(void)what;
	reap_door(&front->door[TD_ROLE_VISITOR]);
	reap_door(&front->door[TD_ROLE_KEEPER]);
}

/* --- start ------------------------------------------------------------------------------------------- */

/* How many descriptors there may be; asks for as many as wanted. */
static rlim_t descriptors(rlim_t wanted)
{
	struct rlimit limit;

	if (getrlimit(RLIMIT_NOFILE, &limit) != 0)
		return 0;
	if (limit.rlim_cur < wanted && limit.rlim_max > limit.rlim_cur) {
		limit.rlim_cur = wanted < limit.rlim_max ? wanted : limit.rlim_max;
		setrlimit(RLIMIT_NOFILE, &limit);
		getrlimit(RLIMIT_NOFILE, &limit);
	}
	return limit.rlim_cur;
}

static unsigned int lesser(rlim_t room, unsigned int wanted)
{
	return room < wanted ? (unsigned int)room : wanted;
}

/* Room for the sessions and a reserve. What the system does not grant makes the visitors fewer; half of it is the
 * keepers' in any case. */
static void share_descriptors(const struct td_config *config, unsigned int most[2])
{
	rlim_t granted = descriptors((rlim_t)config->visitors_max + TD_KEEPERS_MAX + TD_SPARE_FDS);
	rlim_t room = granted > TD_SPARE_FDS + 2 ? granted - TD_SPARE_FDS : 2;

	most[TD_ROLE_KEEPER] = lesser(room / 2, TD_KEEPERS_MAX);
	most[TD_ROLE_VISITOR] = lesser(room - most[TD_ROLE_KEEPER], config->visitors_max);
}

/* After a few callbacks below TD_FIRST, or a moment, the loop looks whether something more important came up. Not after each
 * one: the look tells of everybody that waits, and so costs the more the more there are. */
static struct event_base *new_base(void)
{
	const struct timeval moment = {.tv_usec = MOMENT_US};
	struct event_config *config = td_heap_must(event_config_new());
	struct event_base *base = NULL;

	if (event_config_require_features(config, EV_FEATURE_EARLY_CLOSE) == 0 &&
	    event_config_set_max_dispatch_interval(config, &moment, CALLS_AT_ONCE, TD_HEAR_KEEPERS) == 0)
		base = event_base_new_with_config(config);
	event_config_free(config);
	if (base && event_base_priority_init(base, TD_FRONT_PRIORITIES) != 0) {
		event_base_free(base);
		return NULL;
	}
	return base;
}

static struct event *watch(struct td_front *front, int fd, short what, event_callback_fn call, void *context)
{
	struct event *event = td_heap_must(event_new(front->base, fd, what, call, context));

	event_priority_set(event, TD_FIRST);
	return event;
}

static void start_outbox(struct td_front *front, struct td_outbox *box, int fd)
{
	fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) | O_NONBLOCK);
	td_outbox_start(box, fd, watch(front, fd, EV_WRITE, on_outbox, box));
}

static void start_events(struct td_front *front)
{
	const struct timeval tick = {.tv_usec = TD_TICK_MS * 1000L};

	front->notes[0] = watch(front, front->orders.fd, EV_READ | EV_PERSIST, on_note, front);
	front->notes[1] = watch(front, front->urgent.fd, EV_READ | EV_PERSIST, on_note, front);
	front->term = watch(front, SIGTERM, EV_SIGNAL | EV_PERSIST, on_term, front);
	front->tick = watch(front, -1, EV_PERSIST, on_tick, front);
	front->reaper = watch(front, -1, 0, on_reap, front);
	event_add(front->notes[0], NULL);
	event_add(front->notes[1], NULL);
	event_add(front->term, NULL);
	event_add(front->tick, &tick);
}

/* Whoever forked us may have had its reasons to block signals; here SIGTERM has to arrive. */
static void start_signals(void)
{
	sigset_t none;

	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	(void)signal(SIGPIPE, SIG_IGN);
	(void)signal(SIGINT, SIG_IGN);
	(void)signal(SIGHUP, SIG_IGN);
	prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
}

static bool begin(struct td_front *front, const struct td_config *config, int orders_fd, int urgent_fd,
		  const struct td_front_start *from)
{
	unsigned int most[2];

	share_descriptors(config, most);
	memset(front, 0, sizeof(*front));
	front->config = config;
	front->exit_code = -1;
	front->began_ns = td_clock_now();
	front->about_machine = td_journal_of(STDERR_FILENO, MACHINE_LINES);
	front->about_clients = td_journal_of(STDERR_FILENO, CLIENT_LINES);
	front->base = new_base();
	if (!front->base) {
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR,
			       "front: no event loop of the kind needed; is epoll missing?");
		return false;
	}
	front->latch.wanted = from->latched;
	front->peer = from->peer ? from->peer : td_door_peer;
	td_front_tell_start(front, from->shared);
	td_front_metrics_start(front, from->shared);
	front->history = td_heap_take(sizeof(*front->history));
	td_front_follow_start(front);
	TAILQ_INIT(&front->pendings);
	td_mirror_start(&front->mirror, config, &from->arming);
	front->spare_fd = fcntl(orders_fd, F_DUPFD_CLOEXEC, 3);
	start_outbox(front, &front->orders, orders_fd);
	start_outbox(front, &front->urgent, urgent_fd);
	start_events(front);
	td_front_turn_start(front);
	td_door_open(front, TD_ROLE_VISITOR, from->listener[TD_ROLE_VISITOR], most[TD_ROLE_VISITOR]);
	td_door_open(front, TD_ROLE_KEEPER, from->listener[TD_ROLE_KEEPER], most[TD_ROLE_KEEPER]);
	return true;
}

/* Who waits hears of a failure by the closed end. */
static void say_ready(int fd)
{
	if (fd > 0 && write(fd, "", 1) < 0) {
		/* Nobody waits any more. */
	}
	if (fd > 0)
		close(fd);
}

/* --- end --------------------------------------------------------------------------------------------- */

static void free_pendings(struct td_front *front)
{
	struct td_pending *pending;

	while ((pending = TAILQ_FIRST(&front->pendings)))
		td_pending_drop(&front->pendings, pending);
}

static void finish(struct td_front *front)
{
	td_door_close(&front->door[TD_ROLE_VISITOR]);
	td_door_close(&front->door[TD_ROLE_KEEPER]);
	td_front_turn_end(front);
	free_pendings(front);
	td_outbox_end(&front->orders);
	td_outbox_end(&front->urgent);
	event_free(front->orders.writable);
	event_free(front->urgent.writable);
	event_free(front->notes[0]);
	event_free(front->notes[1]);
	event_free(front->term);
	event_free(front->tick);
	event_free(front->reaper);
	event_base_free(front->base);
	td_front_follow_end(front);
	free(front->history);
	close(front->spare_fd);
}

int td_front_run(const struct td_config *config, int orders_fd, int urgent_fd,
		 const struct td_front_start *start)
{
	struct td_front front;
	struct td_front_start own = *start;

	td_heap_rule();
	start_signals();
	if (begin(&front, config, orders_fd, urgent_fd, start)) {
		say_ready(start->ready_fd);
		event_base_dispatch(front.base);
		finish(&front);
	}
	close(urgent_fd);
	close(orders_fd);
	unlink(config->keeper.path);
	unlink(config->visitor.path);
	td_front_leave(&own);
	return front.exit_code < 0 ? 1 : front.exit_code;
}
