/* SPDX-License-Identifier: MIT */
/*
 * R11: how often visitors may reset. Exact, not an estimate: within any hour, wherever it begins, no more than `limit`
 * are taken, and one that may be taken is never turned down. For that the last `limit` times are remembered.
 *
 * What it does not know: a restart forgets them, so a visitor who can make the daemon restart has them anew.
 */
#ifndef TD_CORE_QUOTA_H
#define TD_CORE_QUOTA_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

/* All zero: none taken yet. */
struct td_quota {
	td_ns free_ns[TD_VISITOR_RESETS_MAX]; /* when each of the last ones no longer counts */
	uint8_t next;                         /* the oldest of them: the place of the next one */
};

/* From when on one more may be taken: in the past, or 0, it may be now. TD_NEVER where `limit` is 0. A limit beyond
 * TD_VISITOR_RESETS_MAX counts as that. Never fails. */
td_ns td_quota_free_ns(const struct td_quota *quota, uint8_t limit);

/* Takes one at `now_ns` (never earlier than the last); false, and nothing changes, if it may not be. */
bool td_quota_take(struct td_quota *quota, uint8_t limit, td_ns now_ns);

#endif
