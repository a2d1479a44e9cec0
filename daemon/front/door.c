/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"
#include "wire/method.h"

enum { USER_LINES = 6 /* in the log, a minute */ };

/* --- those who cannot come in -------------------------------------------------------------------------- */

/* In one piece if the socket takes it; the connection is closed right after. */
static void turn_away(struct td_door *door, int fd, const struct td_fault *fault)
{
	struct td_reply reply;
	size_t length = 0;

	door->front->watched.counts.turned_away[door->role]++;
	td_reply_start(&reply, false);
	td_reply_error(&reply, NULL, td_fault_object(fault));
	char *text = td_reply_text(&reply, &length);
	if (send(fd, text, length, MSG_NOSIGNAL | MSG_DONTWAIT) < 0)
		errno = 0; /* then it just finds the connection closed */
	free(text);
	td_reply_free(&reply);
	close(fd);
}

static void say_full(int fd, struct td_door *door)
{
	struct td_fault fault;

	td_fault_set(&fault, TD_CODE_BUSY, "close another connection first",
		     "there are %u connections already", door->count);
	turn_away(door, fd, &fault);
}

/* Rarely, however often it happens: a storm of one user must not keep others' lines out of the log. */
static void log_user(struct td_door *door, uid_t uid, const char *why)
{
	td_journal_say(&door->about_users, td_clock_now(), TD_PRIORITY_NOTICE,
		       "a %s was turned away: user %u %s", td_role_name(door->role), (unsigned int)uid, why);
}

static void say_user_has_all(int fd, struct td_door *door, uid_t uid)
{
	struct td_fault fault;

	log_user(door, uid, "has its share of connections already");

	td_fault_set(&fault, TD_CODE_BUSY,
		     "close another connection of this user first; per_user and gateway in [visitor] of the "
		     "configuration say how many visitors' there may be",
		     "this user has %u connections already, which is its share", door->users.per_user);
	turn_away(door, fd, &fault);
}

static void say_too_fast(int fd, struct td_door *door, uid_t uid)
{
	struct td_fault fault;

	log_user(door, uid, "connects too often");

	td_fault_set(&fault, TD_CODE_BUSY, "wait a moment, and keep a connection for more than one call",
		     "this user connects more than %d times a second", TD_USER_COMES_PER_S);
	turn_away(door, fd, &fault);
}

/* --- those who may ------------------------------------------------------------------------------------- */

int td_door_peer(int fd, struct ucred *who)
{
	socklen_t size = sizeof(*who);

	return getsockopt(fd, SOL_SOCKET, SO_PEERCRED, who, &size);
}

static void let_in(struct td_door *door, int fd, const struct ucred *who, struct td_user *user)
{
	struct td_front *front = door->front;

	front->watched.counts.let_in[door->role]++;
	td_front_tell_session(front, td_session_open(door, fd, ++front->last_session, who, user), true);
}

static void ask_who(struct td_door *door, int fd)
{
	struct ucred who = {.pid = 0, .uid = (uid_t)-1, .gid = (gid_t)-1};
	struct td_user *user = NULL;

	if (door->front->peer(fd, &who) != 0) {
		close(fd);
		return;
	}
	switch (td_users_come(&door->users, who.uid, td_clock_now(), &user)) {
	case TD_USER_COMES: let_in(door, fd, &who, user); break;
	case TD_USER_TOO_FAST: say_too_fast(fd, door, who.uid); break;
	case TD_USER_HAS_ALL:
	default: say_user_has_all(fd, door, who.uid); break;
	}
}

static void receive(struct td_door *door, int fd)
{
	struct td_front *front = door->front;

	if (front->last_session == UINT32_MAX) {
		td_journal_say(&front->about_clients, td_clock_now(), TD_PRIORITY_ERROR,
			       "session numbers are used up; ending for a new start");
		close(fd);
		td_front_end(front, 1);
	} else if (door->count >= door->most) {
		say_full(fd, door);
	} else {
		ask_who(door, fd);
	}
}

/* --- knocking ------------------------------------------------------------------------------------------ */

static bool may_come(struct td_door *door)
{
	return door->role == TD_ROLE_KEEPER || td_rate_take(&door->rate, td_clock_now());
}

/* Who knocks meanwhile waits in the kernel's queue. */
static void pause_door(struct td_door *door, td_ns wait_ns)
{
	struct timeval wait = td_front_span(wait_ns);

	event_del(door->knock);
	event_add(door->reopen, &wait);
}

static void on_reopen(evutil_socket_t fd, short what, void *context)
{
	struct td_door *door = context;

	(void)fd;
	(void)what;
	event_add(door->knock, NULL);
}

static void keep_spare(struct td_door *door)
{
	if (door->front->spare_fd < 0)
		door->front->spare_fd = fcntl(door->fd, F_DUPFD_CLOEXEC, 3);
}

/* No descriptor is left: the spare one is lent to the caller's connection, so that it is told, and closed. False: nor is there
 * a spare one; somebody else was quicker to take it. */
static bool lend_spare(struct td_door *door)
{
	struct td_front *front = door->front;

	if (front->spare_fd >= 0)
		close(front->spare_fd);
	front->spare_fd = -1;
	int fd = accept4(door->fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
	if (fd >= 0)
		say_full(fd, door);
	keep_spare(door);
	td_journal_say(&front->about_clients, td_clock_now(), TD_PRIORITY_WARNING,
		       "out of descriptors: a %s was turned away", td_role_name(door->role));
	return fd >= 0;
}

/* Whoever knocks goes on doing so: without a pause the loop would turn for nothing but this. */
static void take_failure(struct td_door *door, int reason)
{
	bool nobody = reason == EAGAIN || reason == EWOULDBLOCK || reason == EINTR || reason == ECONNABORTED;
	bool out_of_fds = reason == EMFILE || reason == ENFILE;

	if (nobody || (out_of_fds && lend_spare(door)))
		return;
	pause_door(door, TD_MS(TD_DOOR_PAUSE_MS));
}

/* One at a time: others have their turn in between. */
static void on_knock(evutil_socket_t listener, short what, void *context)
{
	struct td_door *door = context;

	(void)what;
	keep_spare(door);
	if (!may_come(door)) {
		pause_door(door, td_rate_wait(&door->rate, td_clock_now()));
		return;
	}
	int fd = accept4(listener, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
	if (fd < 0)
		take_failure(door, errno);
	else
		receive(door, fd);
}

/* --- the door ------------------------------------------------------------------------------------------ */

static void name_gateway(struct td_door *door)
{
	struct td_front *front = door->front;
	const char *name = front->config->gateway;

	if (name[0] == '\0')
		return;
	door->users.has_gateway = td_user_named(name, &door->users.gateway);
	if (!door->users.has_gateway)
		td_journal_say(
			&front->about_clients, td_clock_now(), TD_PRIORITY_WARNING,
			"there is no user \"%s\": gateway in [visitor] of the configuration has no effect; "
			"make the user and start anew",
			name);
}

static void start_users(struct td_door *door)
{
	td_users_start(&door->users, door->most);
	if (door->role == TD_ROLE_KEEPER) {
		door->users.per_user = TD_KEEPERS_PER_USER;
		return;
	}
	door->users.per_user = door->front->config->visitors_per_user;
	door->users.paced = true;
	name_gateway(door);
}

void td_door_open(struct td_front *front, enum td_role role, int fd, unsigned int most)
{
	struct td_door *door = &front->door[role];

	door->front = front;
	door->role = role;
	door->fd = fd;
	door->most = most;
	door->rate = td_rate_of(TD_S(1) / TD_VISITORS_PER_S, TD_VISITORS_AT_ONCE);
	door->about_users = td_journal_of(STDERR_FILENO, USER_LINES);
	start_users(door);
	TAILQ_INIT(&door->sessions);
	if (fd < 0)
		return;
	door->knock = td_heap_must(event_new(front->base, fd, EV_READ | EV_PERSIST, on_knock, door));
	event_priority_set(door->knock, role == TD_ROLE_KEEPER ? TD_KEEPERS : TD_VISITORS);
	door->reopen = td_heap_must(event_new(front->base, -1, EV_TIMEOUT, on_reopen, door));
	event_priority_set(door->reopen, TD_VISITORS);
	event_add(door->knock, NULL);
}

void td_door_close(struct td_door *door)
{
	struct td_session *session;

	while ((session = TAILQ_FIRST(&door->sessions)))
		td_session_free(session);
	td_users_end(&door->users);
	if (!door->knock)
		return;
	event_free(door->knock);
	event_free(door->reopen);
}
