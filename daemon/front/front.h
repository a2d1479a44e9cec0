/* SPDX-License-Identifier: MIT */
/*
 * The front: the process that talks to clients. It holds the two sockets, knows JSON and roles, and has
 * no line access; what it wants done it sends to the mover in the messages of msg.h.
 *
 * Use, in this order: td_state_load(), td_front_listen() in the parent before it forks; then
 * td_front_run() in the child and td_front_leave() in the parent.
 */
#ifndef TD_DAEMON_FRONT_FRONT_H
#define TD_DAEMON_FRONT_FRONT_H

#include <stdbool.h>
#include <sys/socket.h>

#include "config/config.h"
#include "core/core.h"
#include "daemon/arming.h"
#include "daemon/scribe/shared.h"
#include "error.h"

/* What the front inherits. Indexed by enum td_role. */
struct td_front_start {
	int listener[2];         /* listening sockets, -1 = none */
	int lock[2];             /* lock files beside them, held while any process has them open; -1 = none */
	bool latched;            /* what td_state_load() said; the caller fills it in */
	struct td_arming arming; /* what td_arming_check() said, for status; the caller fills it in */
	const struct td_shared *shared; /* with mover and scribe; NULL = none; the caller fills it in */
	/* Who is at the other end of `fd`, 0 or -1; NULL = the kernel is asked (SO_PEERCRED). The caller fills it in. */
	int (*peer)(int fd, struct ucred *who);
	int ready_fd; /* gets a byte once clients are served; 0 = nobody waits for it; the caller fills it in */
};

/* Makes both sockets: bound with exactly the configured file mode and group from the first instant that anybody but the
 * daemon's user can connect, listening, non-blocking, close-on-exec. A socket file left over from a run that died is
 * replaced, but only while the lock file beside it ("PATH.lock") is ours and nobody answers on it. Anything else at that
 * path is left alone and is an error.
 *
 * Sets umask() for a moment: call it while the process has one thread. Waits up to 1 s for a former
 * daemon to let its lock go. Returns 0, or -1 with a sentence in *err and everything closed again. Does not
 * touch what the caller fills in. */
int td_front_listen(const struct td_config *config, struct td_front_start *start, struct td_error *err);

/* Whether the group that a socket is to be given to is there: 0, or -1 with a sentence. */
int td_front_check_group(const struct td_config_socket *where, struct td_error *err);

/* Closes this process's copies of the four descriptors and sets them to -1; leaves the socket files alone.
 * For the parent after the fork, and for the way out when the start fails later on. Never fails. */
void td_front_leave(struct td_front_start *start);

/* Serves clients until the mover closes its end of either pair, or SIGTERM comes. SIGINT is ignored: on
 * ^C the mover decides. Signals the caller had blocked are unblocked. `orders_fd` and `urgent_fd` are the
 * front's ends of the SOCK_SEQPACKET pairs; they are made non-blocking and closed on return, and so are the
 * listeners; the socket files are removed.
 *
 * Returns the exit code for the process: 0 for an ordinary end, 1 if it could not start. When heap or
 * event loop fail it does not return but leaves with _exit(1): the mover sees the closed pairs and makes
 * everything safe.
 *
 * Log lines go to standard error with a "<N>" syslog priority in front. */
int td_front_run(const struct td_config *config, int orders_fd, int urgent_fd,
		 const struct td_front_start *start);

#endif
