/* SPDX-License-Identifier: MIT */
/*
 * The client's end of the socket: JSON-RPC 2.0, one message a line, over an AF_UNIX stream socket.
 * Used by tripdog, the end-to-end tests and the demo. No event loop: every function that waits has a
 * timeout and polls. One link is for one thread.
 *
 * "Refused" and "broken" are different things: after a refusal the link goes on, and the daemon's words
 * say what to do; after anything else than OK, REFUSED or TIMEOUT the link is of no more use.
 *
 * Parameters are handed over: every function here that takes `params` decrements its reference, also
 * when it fails. What comes back is the caller's, to be given up with json_decref().
 *
 *	struct td_error err;
 *	struct td_link *link = td_link_open("/run/tripdog/keeper.sock", &err);
 *	json_t *status = NULL;
 *	if (link && td_link_call(link, "status", NULL, TD_S(2), &status, &err) == TD_LINK_OK)
 *		...
 *	json_decref(status);
 *	td_link_close(link);
 */
#ifndef TD_DAEMON_CLIENT_LINK_H
#define TD_DAEMON_CLIENT_LINK_H

#include <stdint.h>

#include <jansson.h>

#include "core/time.h"
#include "daemon/client/refusal.h"
#include "error.h"

struct td_link;

enum td_link_outcome {
	TD_LINK_OK = 0,
	TD_LINK_REFUSED = -1, /* the daemon answered with an error; the link goes on */
	TD_LINK_TIMEOUT = -2, /* nothing came in time; the link goes on, a late answer is thrown away */
	TD_LINK_BROKEN = -3,  /* closed, not understood, or an error of the system */
};

enum {
	TD_LINK_CALLS_MAX = 64,        /* calls without an answer at one time */
	TD_LINK_WAITING_MAX = 4096,    /* messages set aside at one time */
	TD_LINK_LINE_MAX = 256 * 1024, /* longest line taken from the daemon, in bytes */
};

enum td_link_kind { TD_LINK_NEWS = 0, TD_LINK_RESULT, TD_LINK_ERROR };

struct td_link_message {
	enum td_link_kind kind;
	int64_t id;   /* RESULT, ERROR: of which call; NEWS: 0 */
	json_t *body; /* NEWS: the whole notification {"jsonrpc", "method", "params"}; RESULT: the result;
	                 ERROR: the error object {"code", "message", "data"}. The caller's. */
};

/* Connects. NULL on failure, with the path and what to do in *err (may be NULL); errno then tells the kind:
 * ENOENT, EACCES, ECONNREFUSED, ... A local connect does not wait for long, so there is no timeout. */
struct td_link *td_link_open(const char *path, struct td_error *err);

/* Closes and frees. The daemon ends all holds of this link. NULL is allowed. */
void td_link_close(struct td_link *link);

/* The descriptor, for poll() beside others: readable means td_link_next(link, 0, ...) may have something.
 * Messages already set aside do not make it readable: ask td_link_next() until it returns TIMEOUT first.
 * Only for waiting; it belongs to the link. */
int td_link_fd(const struct td_link *link);

/* Sends a call and waits at most `timeout_ns` for its answer. *answer is the result (OK), the error
 * object (REFUSED), else NULL; it may be the null pointer if nobody wants it. `params`: an object, or NULL
 * for none. News and answers to other calls that arrive meanwhile are set aside, in order, for
 * td_link_next(). *err (may be NULL) holds a sentence whenever the return value is not OK. */
enum td_link_outcome td_link_call(struct td_link *link, const char *method, json_t *params, td_ns timeout_ns,
				  json_t **answer, struct td_error *err);

/* Sends a call and does not wait for the answer: it arrives through td_link_next() under *id. Waits at
 * most `timeout_ns` for room in the socket. TIMEOUT also where TD_LINK_CALLS_MAX calls are unanswered. A
 * line that was sent only in part breaks the link. */
enum td_link_outcome td_link_send(struct td_link *link, const char *method, json_t *params, td_ns timeout_ns,
				  int64_t *id, struct td_error *err);

/* The newest token that the daemon gave on this link, by whatever answer; "" before the first. Borrowed until the next call
 * here. */
const char *td_link_token(const struct td_link *link);

/* The next message of any kind, in the order of arrival; waits at most `timeout_ns` (0: does not wait).
 * OK: *message is written and its body is the caller's. Never REFUSED. */
enum td_link_outcome td_link_next(struct td_link *link, td_ns timeout_ns, struct td_link_message *message,
				  struct td_error *err);

/* The same, news only: answers are set aside. *news is the whole notification, the caller's; NULL unless
 * OK. */
enum td_link_outcome td_link_next_news(struct td_link *link, td_ns timeout_ns, json_t **news,
				       struct td_error *err);

#endif
