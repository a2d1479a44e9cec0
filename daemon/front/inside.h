/* SPDX-License-Identifier: MIT */
/* What the files of the front share. Nobody else includes this. */
#ifndef TD_DAEMON_FRONT_INSIDE_H
#define TD_DAEMON_FRONT_INSIDE_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/queue.h>

#include <event2/event.h>

#include "config/config.h"
#include "config/nearest.h"
#include "daemon/clock.h"
#include "daemon/front/front.h"
#include "daemon/front/history.h"
#include "daemon/journal.h"
#include "daemon/metrics/metrics.h"
#include "daemon/front/mirror.h"
#include "daemon/msg.h"
#include "daemon/front/outbox.h"
#include "daemon/front/pending.h"
#include "daemon/front/session.h"
#include "daemon/state.h"
#include "daemon/turns/turns.h"
#include "daemon/front/users.h"
#include "wire/method.h"

/* What is served first when several wait: the mover's notes; then what arrives is read and its stops are carried out (R7), keepers
 * before visitors; only then is anything else done that was read. A visitor that sends more than a person's client does
 * (TD_CALM_PER_S) stands behind those who do not: it is read with their work, and its own work comes last. After a few
 * callbacks, or a moment, the loop looks again whether something better has come. */
enum td_front_priority {
	TD_FIRST = 0,
	TD_HEAR_KEEPERS,
	TD_HEAR_VISITORS,
	TD_KEEPERS,
	TD_VISITORS,
	TD_BUSY_VISITORS,
	TD_FRONT_PRIORITIES
};

enum {
	TD_KEEPERS_MAX = 64,     /* connections of keepers; of visitors the configuration says */
	TD_SPARE_FDS = 32,       /* descriptors for everything that is not a session */
	TD_VISITORS_PER_S = 200, /* new connections of all users together, those turned away among them */
	TD_DOOR_PAUSE_MS =
		100, /* where the system cannot give a connection, for want of memory or descriptors */
	TD_VISITORS_AT_ONCE = 64, /* after a pause */
	TD_ANSWERS_DUE_MS = 1000, /* the mover answers in this time, or the call counts as not carried out */
	TD_TICK_MS = 250,
	TD_TEXTS_NEWS = 16,
};

/* One of the two listening sockets. */
struct td_door {
	struct td_front *front;
	enum td_role role;
	int fd;
	struct event *knock;
	struct event *reopen; /* after a pause */
	struct td_rate rate;  /* visitors: a flood of connections costs more than one of lines */
	struct td_sessions sessions;
	struct td_users users;
	struct td_journal about_users;
	unsigned int count;
	unsigned int most;
};

/* What is to be in the state file, and what is. */
struct td_latch_keeper {
	bool seen_on; /* the mover reported the latch on */
	bool wanted;
	bool saved;
	bool known;               /* `saved` says what the file holds */
	char fault[TD_ERROR_MAX]; /* of the last attempt; "" = it succeeded */
};

/* What goes to the scribe. */
struct td_teller {
	struct td_queue *clients; /* NULL: nobody wants to know */
	uint64_t number;          /* of the next entry */
	struct td_rate refusals;  /* a flood of them must not fill the traces */
};

/* What the metrics are made of (front_metrics.c). */
struct td_watched {
	struct td_shelf *meters; /* NULL: the mover counts nothing */
	uint32_t taken;          /* of them; 0: none was laid yet */
	struct td_meter meter;   /* the newest */
	struct td_front_counts counts;
	td_ns began_wall_ns; /* what was the time of day at td_front's began_ns */
};

/* Of the state that followers are told. */
struct td_change {
	uint32_t axes; /* bit set: they changed */
	bool machine;
	bool turn;
};

/* One text for every follower but a holder. */
struct td_text {
	char *bytes; /* NULL: not made yet */
	size_t length;
};

/* Those that are still true. */
struct td_texts {
	struct td_text axis[TD_AXES_MAX];
	struct td_text machine;
	struct td_text news[TD_TEXTS_NEWS]; /* by number */
	int64_t news_number[TD_TEXTS_NEWS];
};

struct td_front {
	const struct td_config *config;
	struct event_base *base;
	struct td_door door[2];                 /* by enum td_role */
	int (*peer)(int fd, struct ucred *who); /* who is at the other end; 0 or -1 */
	int spare_fd;                           /* given up to turn a client away when descriptors run out */
	struct td_outbox orders;
	struct td_outbox urgent;
	struct event *notes[2];
	struct event *term;
	struct event *tick;
	struct event *reaper;
	struct td_mirror mirror;
	struct td_pendings pendings;
	struct td_latch_keeper latch;
	struct td_turns turns;
	struct event *turn_due;
	bool quiet; /* when last looked at */
	struct td_teller teller;
	const struct td_tally *tally; /* of the traces; NULL = none */
	struct td_watched watched;
	struct td_journal about_machine;
	struct td_journal about_clients;
	td_ns began_ns;
	uint32_t last_session;
	uint64_t last_tag;
	struct td_history *history;
	char instance[17]; /* of this life of the daemon; hexadecimal */
	struct td_texts texts;
	uint32_t doubtful; /* bit set: of these axes the mover may not have got its news through */
	int exit_code;
};

/* The way libevent wants a span, rounded up. */
static inline struct timeval td_front_span(td_ns span_ns)
{
	return (struct timeval){.tv_sec = span_ns / TD_S(1), .tv_usec = span_ns % TD_S(1) / 1000 + 1};
}

/* Leaves the loop; td_front_run() returns `code` (the first one counts). */
void td_front_end(struct td_front *front, int code);

/* front_door.c: accepts and turns away. `failed` if there is no memory or no event for it. */
void td_door_open(struct td_front *front, enum td_role role, int fd, unsigned int most);
void td_door_close(struct td_door *door);
/* Asks the kernel who is at the other end. */
int td_door_peer(int fd, struct ucred *who);

/* front_call.c: faults that several methods have. There is no such name, but perhaps one near it; false, to be handed on. */
bool td_front_unknown(struct td_fault *fault, const char *remedy, const char *what, const char *name,
		      const struct td_nearest *near);
/* The mover has not told everything yet. */
void td_front_not_ready(struct td_fault *fault);
/* One line of a session: everything in it is carried out or answered. */
void td_front_line(struct td_session *session, const char *line, size_t length);
/* The line may hold a stop or a latch; seen at a glance. Most do not: a name can hide only behind an escape. */
bool td_front_maybe_urgent(const char *line, size_t length);
/* It does hold one. */
bool td_front_urgent(const char *line, size_t length);

/* front_order.c: to the mover and back. `like` names the order but for session, tag and times. With an
 * exchange, the answer goes there under `id` (NULL = null); without, nobody is told. */
void td_front_order(struct td_front *front, struct td_session *session, struct td_order *order,
		    struct td_exchange *exchange, json_t *id);
/* The session's holds end; said once. */
void td_front_gone(struct td_front *front, struct td_session *session);
/* The holds of a session end; why: GONE, or TURN_OVER where it lives on. */
void td_front_end_holds(struct td_front *front, enum td_event_kind why, uint32_t session, enum td_role role);
void td_front_answer(struct td_front *front, uint64_t tag, enum td_cause cause);
void td_front_expire(struct td_front *front, td_ns now_ns);

/* front_token.c: how old a request is. The caller's. */
json_t *td_front_token(const struct td_session *session);
/* NONE: the token is young enough and this session's in this turn; else why not. */
enum td_cause td_front_token_judge(const struct td_session *session, const char *text);
/* The turn of this visitor is over, and what was given in it with it. */
void td_front_token_turn_lost(struct td_front *front, uint32_t id);

/* front_turn.c: visitors take turns. */
void td_front_turn_start(struct td_front *front);
void td_front_turn_end(struct td_front *front);
/* NONE where this session may ask for motion now; else why not. */
enum td_cause td_front_turn_refusal(const struct td_session *session);
/* It does ask. */
void td_front_turn_use(struct td_session *session);
void td_front_turn_gone(struct td_session *session);
/* Carries out join, leave, next, close, open; the answer is the cause. */
enum td_cause td_front_turn_call(struct td_session *session, enum td_method_id method);
/* What status says under "turn"; the caller's. */
json_t *td_front_turn_object(const struct td_session *session);

/* front_quiet.c: in quiet hours nothing loud moves. */
bool td_front_quiet(const struct td_front *front);
/* Stops what is loud when quiet hours begin. */
void td_front_quiet_tend(struct td_front *front);

/* front_follow.c: what followers are told. */
void td_front_follow_start(struct td_front *front);
void td_front_follow_end(struct td_front *front);
/* {"instance", "last"}; the caller's. */
json_t *td_front_follow_object(const struct td_front *front);
/* The call `follow`: from now on the session is told, once the exchange is answered. The same object with what is missed;
 * the caller's. */
json_t *td_front_follow_begin(struct td_session *session, struct td_exchange *exchange,
			      const struct td_args *args);
/* Keeps the news and tells every follower. */
void td_front_follow_news(struct td_front *front, td_ns at_ns, const struct td_note_news *news);
/* The state in `what` has changed: every follower is told the newest, when it reads. */
void td_front_follow_tell(struct td_front *front, struct td_change what);
/* Tells one follower what it is owed, as far as its socket takes it. */
void td_front_follow_on(struct td_session *session);
/* True while there are news that this follower was not told. */
bool td_front_follow_owes(const struct td_session *session);

/* front_note.c: what the mover says. */
void td_front_note(struct td_front *front, const struct td_note *note);

/* front_tell.c: to the scribe, for log and trace; dropped where there is no room. */
void td_front_tell_start(struct td_front *front, const struct td_shared *shared);
void td_front_tell_session(struct td_front *front, const struct td_session *session, bool came);
/* A request of this session that the mover never hears of. */
void td_front_tell_refused(struct td_front *front, const struct td_session *session, enum td_cause cause);
/* An order that was taken back before the mover heard of it. */
void td_front_tell_overtaken(struct td_front *front, const struct td_order *order);

/* front_metrics.c: what was counted. */
void td_front_metrics_start(struct td_front *front, const struct td_shared *shared);
/* A call of anybody's was understood and not carried out. */
void td_front_metrics_refused(struct td_front *front, enum td_cause cause);
/* The result of `metrics`, the caller's. NULL with a fault: there is nothing yet, or no such form. */
json_t *td_front_metrics(const struct td_session *session, const char *form, struct td_fault *fault);

/* front_latch.c: the state file follows the latch. */
void td_front_latch_seen(struct td_front *front, bool on);
/* Writes if the file does not hold what it should; true if it does afterwards. */
bool td_front_latch_kept(struct td_front *front);

#endif
