/* SPDX-License-Identifier: MIT */
/* What the files of a session share: what goes out (session_out.c), what comes in (session_in.c), its life (session.c). */
#ifndef TD_DAEMON_FRONT_SESSION_PARTS_H
#define TD_DAEMON_FRONT_SESSION_PARTS_H

#include <event2/util.h>

#include "daemon/front/session.h"

/* What the event loop calls; the context is the session. */
void td_session_writable(evutil_socket_t fd, short what, void *context);
void td_session_readable(evutil_socket_t fd, short what, void *context);
void td_session_work(evutil_socket_t fd, short what, void *context);
void td_session_hung_up(evutil_socket_t fd, short what, void *context);

/* It is neither doomed nor parting. */
static inline bool td_session_is_served(const struct td_session *session)
{
	return !session->doomed && !session->parting;
}

/* Dooms it if nothing more will come of its client. */
void td_session_end_if_done(struct td_session *session);

/* True where bytes have waited for TD_STALLED_S and the client took none. */
bool td_session_has_stalled(struct td_session *session, td_ns now_ns);

/* The line that was begun and not finished gets an error, and is the last. */
void td_session_refuse_half_line(struct td_session *session);

#endif
