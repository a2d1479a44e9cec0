/* SPDX-License-Identifier: MIT */
/*
 * The users of the system behind the connections at one door: how many each has, and how fast it is. So that one user cannot
 * take all places, nor get around the limits of a connection by making more of them. Pure but for the memory taken at the
 * start; time is an argument.
 */
#ifndef TD_DAEMON_FRONT_USERS_H
#define TD_DAEMON_FRONT_USERS_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "daemon/front/rate.h"

/* Our own choice, no source. */
enum {
	TD_KEEPERS_PER_USER =
		48, /* so that a program of one user that leaks connections does not lock out the others */
	TD_USER_COMES_PER_S = 50,
	TD_USER_COMES_AT_ONCE = 50,
	TD_USER_LINES_PER_S = 800, /* four connections that make the most of theirs */
	TD_USER_LINES_AT_ONCE = 200,
};

struct td_user {
	uid_t uid;
	bool limited;
	unsigned int count; /* connections */
	struct td_rate comes;
	struct td_rate lines;
};

struct td_users {
	struct td_user *user; /* `size` places, the first `used` of them in use */
	size_t size;
	size_t used;
	unsigned int per_user; /* connections; 0: nobody is limited */
	bool has_gateway;
	uid_t gateway; /* not limited: it speaks for many */
	bool paced;    /* the rates count, too */
};

enum td_user_verdict { TD_USER_COMES, TD_USER_HAS_ALL, TD_USER_TOO_FAST };

/* Room for the users of `connections` connections. `per_user`, gateway and `paced` are the caller's to set. */
void td_users_start(struct td_users *users, size_t connections);
void td_users_end(struct td_users *users);

/* A connection of `uid`, of at most `connections` at one time. COMES: it counts as one from now on, and *user stays valid
 * until td_user_went(). */
enum td_user_verdict td_users_come(struct td_users *users, uid_t uid, td_ns now_ns, struct td_user **user);
void td_user_went(struct td_user *user);

/* How long until one more line of this user may be taken; 0 = now. Then td_user_line() counts it. */
td_ns td_user_wait(const struct td_user *user, td_ns now_ns);
void td_user_line(struct td_user *user, td_ns now_ns);

/* The user of a name or number; false where there is none of that name. Reads the system's list of users. */
bool td_user_named(const char *name, uid_t *uid);

#endif
