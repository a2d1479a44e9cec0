/* SPDX-License-Identifier: MIT */
/* News of the daemon, read and written as one line each. */
#ifndef TD_DAEMON_CLIENT_NEWS_H
#define TD_DAEMON_CLIENT_NEWS_H

#include <stdbool.h>

#include <jansson.h>

#include "core/cause.h"
#include "core/time.h"
#include "daemon/client/pen.h"

/* Borrowed from the notification; never NULL. */
struct td_news_line {
	td_ns at_ns; /* CLOCK_MONOTONIC of this machine */
	enum td_cause cause;
	const char *cause_name;
	const char *rule;
	const char *sentence;
	const char *remedy;
	const char *axis; /* "" where it concerns none */
	const char *way;
	const char *sw;
	const char *holder; /* "you", "other" or "" */
	const char *by;     /* the role that did it, or "" */
};

/* True if the notification is news, which are then read; the others tell a new state. Total. */
bool td_news_read(const json_t *notification, struct td_news_line *news);

/* "14:02:07.251  boom raise: started, the way is powered" and a line end. `wall_ns` is the time of day, in
 * nanoseconds since 1970, at `now_ns` of the monotonic clock; the local time zone is used. */
void td_news_write(struct td_pen *pen, const struct td_news_line *news, td_ns now_ns, td_ns wall_ns);

/* The same with this moment's clocks, at once. */
void td_news_print(struct td_pen *pen, const struct td_news_line *news);

#endif
