/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "daemon/front_inside.h"
#include "daemon/heap.h"
#include "wire/method.h"

/* In one piece if the socket takes it; the connection is closed right after. */
static void turn_away(const struct td_door *door, int fd)
{
	struct td_reply reply;
	struct td_fault fault;
	size_t length = 0;

	door->front->watched.counts.turned_away[door->role]++;
	td_reply_start(&reply, false);
	td_fault_set(&fault, TD_CODE_BUSY, "close another connection first",
		     "there are %u connections already", door->count);
	td_reply_error(&reply, NULL, td_fault_object(&fault));
	char *text = td_reply_text(&reply, &length);
	if (send(fd, text, length, MSG_NOSIGNAL | MSG_DONTWAIT) < 0)
		errno = 0; /* then it just finds the connection closed */
	free(text);
	td_reply_free(&reply);
	close(fd);
}

static void let_in(struct td_door *door, int fd)
{
	struct td_front *front = door->front;
	struct ucred who = {.pid = 0, .uid = (uid_t)-1, .gid = (gid_t)-1};
	socklen_t size = sizeof(who);

	if (front->last_session == UINT32_MAX) {
		td_journal_say(&front->about_clients, td_clock_now(), TD_PRIORITY_ERROR,
			       "session numbers are used up; ending for a new start");
		close(fd);
		td_front_end(front, 1);
		return;
	}
	if (getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &who, &size) != 0) {
		close(fd);
		return;
	}
	front->watched.counts.let_in[door->role]++;
	td_front_tell_session(front, td_session_open(door, fd, ++front->last_session, &who), true);
}

/* No descriptor is left: the spare one is lent to the caller's connection, so that it is closed and does not
 * keep us awake. */
static void lend_spare(struct td_door *door)
{
	struct td_front *front = door->front;

	close(front->spare_fd);
	int fd = accept4(door->fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
	if (fd >= 0)
		turn_away(door, fd);
	front->spare_fd = fcntl(door->fd, F_DUPFD_CLOEXEC, 3);
	td_journal_say(&front->about_clients, td_clock_now(), TD_PRIORITY_WARNING,
		       "out of descriptors: a %s was turned away", td_role_name(door->role));
}

static bool may_come(struct td_door *door)
{
	return door->role == TD_ROLE_KEEPER || td_rate_take(&door->rate, td_clock_now());
}

/* Who knocks meanwhile waits in the kernel's queue. */
static void pause_door(struct td_door *door)
{
	struct timeval wait = td_front_span(td_rate_wait(&door->rate, td_clock_now()));

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

/* One at a time: others have their turn in between. */
static void on_knock(evutil_socket_t listener, short what, void *context)
{
	struct td_door *door = context;

	(void)what;
	if (!may_come(door)) {
		pause_door(door);
		return;
	}
	int fd = accept4(listener, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
	if (fd < 0 && (errno == EMFILE || errno == ENFILE))
		lend_spare(door);
	else if (fd >= 0 && door->count >= door->most)
		turn_away(door, fd);
	else if (fd >= 0)
		let_in(door, fd);
}

void td_door_open(struct td_front *front, enum td_role role, int fd, unsigned int most)
{
	struct td_door *door = &front->door[role];

	door->front = front;
	door->role = role;
	door->fd = fd;
	door->most = most;
	door->rate = td_rate_of(TD_S(1) / TD_VISITORS_PER_S, TD_VISITORS_AT_ONCE);
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
	if (!door->knock)
		return;
	event_free(door->knock);
	event_free(door->reopen);
}
