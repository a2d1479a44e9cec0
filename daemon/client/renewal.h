/* SPDX-License-Identifier: MIT */
/*
 * When to renew a hold: three times in a lease. Where answers take longer than that, so that several renewals are under way at a
 * time, they set the beat: every answer brings a new token, and a renewal that leaves right after it is as young as the
 * connection allows. Pure; time is an argument.
 */
#ifndef TD_DAEMON_CLIENT_RENEWAL_H
#define TD_DAEMON_CLIENT_RENEWAL_H

#include <stdint.h>

#include "core/time.h"

enum { TD_RENEWALS_PER_LEASE = 3, TD_RENEWALS_UNDERWAY = 8 };

struct td_renewal {
	td_ns period_ns;
	td_ns sent_ns;                          /* the last request */
	td_ns due_ns;                           /* the next one */
	int64_t underway[TD_RENEWALS_UNDERWAY]; /* ids of calls without an answer; 0 = a free place */
	unsigned int next;                      /* place; the oldest gives way */
};

/* A hold with this lease; nothing was sent yet. */
struct td_renewal td_renewal_of(td_ns lease_ns);

/* A request leaves now as call `id`. However late it is, the next comes a whole period later: never a burst. */
void td_renewal_sent(struct td_renewal *renewal, int64_t id, td_ns now_ns);

/* The answer to call `id` came; any call, whether it was sent for this hold or not. */
void td_renewal_answered(struct td_renewal *renewal, int64_t id, td_ns now_ns);

#endif
