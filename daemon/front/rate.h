/* SPDX-License-Identifier: MIT */
/* A rate limit: so many at once, then one every so often. Pure; time is an argument. */
#ifndef TD_DAEMON_FRONT_RATE_H
#define TD_DAEMON_FRONT_RATE_H

#include <stdbool.h>

#include "core/time.h"

struct td_rate {
	td_ns every_ns; /* one more each so often */
	td_ns burst_ns; /* every_ns times how many may come at once */
	td_ns full_ns;  /* when the whole burst would be there again */
};

struct td_rate td_rate_of(td_ns every_ns, unsigned int burst);

/* How long until one more may come; 0 = now. Never fails; a clock that went back only makes it longer. */
td_ns td_rate_wait(const struct td_rate *rate, td_ns now_ns);

/* True: one is taken. False: not yet. */
bool td_rate_take(struct td_rate *rate, td_ns now_ns);

/* One came, whether it might or not. True: it was within the limit. Who stays above the limit stays in debt, at most by one burst more
 * than may come at once, and is out of it when that time has passed without one. */
bool td_rate_charge(struct td_rate *rate, td_ns now_ns);

#endif
