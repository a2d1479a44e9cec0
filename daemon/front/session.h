/* SPDX-License-Identifier: MIT */
/*
 * One connection of one client: bytes in, lines out, limits. A session that breaks a limit is doomed: it is
 * silent from that moment, its holds end at once, and it is freed once nobody is in the middle of using it.
 */
#ifndef TD_DAEMON_FRONT_SESSION_H
#define TD_DAEMON_FRONT_SESSION_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/queue.h>
#include <sys/socket.h>

#include "core/core.h"
#include "daemon/front/rate.h"
#include "wire/line_buffer.h"
#include "wire/reply.h"

struct event;
struct evbuffer;
struct td_front;
struct td_door;
struct td_user;
struct td_session;

enum {
	TD_READ_MAX = 2048,         /* bytes taken from a socket at one time */
	TD_LINES_AT_ONCE = 1,       /* lines of a session before others have their turn */
	TD_BACKLOG_MAX = 64 * 1024, /* bytes a client may be behind in reading */
	TD_MALFORMED_MAX = 20,      /* lines that are no call, then the session is dropped */
	TD_UNANSWERED_MAX = 32,     /* calls on their way to the mover; stop and latch do not count */
	TD_STALLED_S = 30,          /* bytes wait for the client and it takes none: it is dropped */
	TD_LINE_DUE_S = 10,         /* a line that was begun and is not finished: the same */
	TD_PARTING_S = 5,           /* for a client to read why it is dropped */
	TD_VISITOR_LINES_PER_S = 200,
	TD_VISITOR_BURST = 50,
	TD_CALM_PER_S = 80, /* reads and lines: two axes renewed every 100 ms, and as much again */
	TD_CALM_BURST = 20,
	TD_VISITOR_LOOKS_PER_S = 100, /* at lines that may be stops, ahead of their turn */
	TD_VISITOR_LOOKS_BURST = 50,
	TD_FLOOR_LINES_PER_S =
		10, /* taken in any case, so that who says little does not wait for others of its user */
	TD_FLOOR_BURST = 10,
};

/* A line whose answer is not complete yet. */
struct td_exchange {
	TAILQ_ENTRY(td_exchange) link;
	struct td_session *session;
	struct td_reply reply;
	unsigned int follows; /* calls of `follow` in it */
};

TAILQ_HEAD(td_exchanges, td_exchange);

/* What a session that follows was told and what it is owed (front_follow.c). */
struct td_follower {
	bool on;
	unsigned int starting; /* calls of `follow` not answered yet: nothing is told before */
	int64_t told;          /* number of the newest news it was told */
	int64_t excused;       /* what is gone up to this number it was told to have missed */
	uint32_t axes;         /* bit set: their newest state is owed */
	bool machine;          /* as well */
	bool turn;             /* as well */
	unsigned int news_since_state;
};

struct td_session {
	TAILQ_ENTRY(td_session) link;
	struct td_front *front;
	struct td_door *door;
	uint32_t id;
	enum td_role role;
	int fd;
	struct ucred who;
	struct td_user *user;
	struct event *readable;
	struct event *writable;
	struct event *hangup; /* watched while there is no room to read */
	struct event *work;   /* lines wait: now, or when the rate allows the next */
	struct evbuffer *out;
	struct td_rate rate;   /* visitors: lines in their turn */
	struct td_rate calm;   /* visitors: who keeps to it comes before those who do not */
	bool busy;             /* it does not */
	struct td_rate ahead;  /* visitors: looks ahead of it */
	struct td_rate floor;  /* visitors: what its user has sent elsewhere does not count for so much */
	td_ns read_ns;         /* when the newest bytes in `in` were read */
	td_ns heard_ns;        /* of the line that is being dealt with */
	td_ns last_ns;         /* of the newest line that none has passed: rises with every one */
	uint32_t highest_hold; /* R11: a hold number is used once */
	uint32_t turns_lost;   /* what was given before the last of them ended counts no more */
	unsigned int malformed;
	unsigned int unanswered;
	struct td_follower follower;
	bool gone;       /* the mover was told that its holds end; it starts nothing any more */
	bool input_over; /* the client has nothing more to say, but may still listen */
	bool parting;    /* says why it goes, as far as the client reads, and then is doomed */
	td_ns parting_ns;
	td_ns taken_ns; /* while `out` is not empty: when the client last was seen to read */
	int unread;     /* as last seen: in its socket, in the kernel's measure */
	td_ns begun_ns; /* since when a line is unfinished; 0 = none is */
	bool doomed;
	struct td_exchanges exchanges;
	struct td_line_buffer in; /* last: most of its bytes are never touched */
};

TAILQ_HEAD(td_sessions, td_session);

/* Takes over `fd` (non-blocking) and starts to serve it. `user` is who.uid's, with this session counted; given back with it. */
struct td_session *td_session_open(struct td_door *door, int fd, uint32_t id, const struct ucred *who,
				   struct td_user *user);

/* Sends a line, or keeps what the socket does not take. A client too far behind is doomed. */
void td_session_send(struct td_session *session, const char *text, size_t length);

/* The line that is being dealt with holds so many calls, and counts as so many lines. */
void td_session_count_calls(struct td_session *session, size_t calls);

/* Sends what the exchange holds, if anything, and frees it. */
void td_session_finish(struct td_exchange *exchange);

/* True where the client has read all that was sent, as far as can be seen from here. */
bool td_session_reads(const struct td_session *session);

/* td_front_follow_on() is called when it is its turn. */
void td_session_call_soon(struct td_session *session);

/* Ends the session, and tells the client why in a last notification: its holds end and nothing more is read. */
void td_session_part(struct td_session *session, const char *why, const char *remedy);

/* Ends the session. `why` goes into the log: the limit it broke; NULL where the client went by itself. */
void td_session_doom(struct td_session *session, const char *why);

/* Time passed: drops a client that stalls. To be called a few times a second. */
void td_session_tend(struct td_session *session, td_ns now_ns);

/* Frees it. Only when nothing on the stack knows it. */
void td_session_free(struct td_session *session);

#endif
