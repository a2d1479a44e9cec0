/* SPDX-License-Identifier: MIT */
#include "core/quota.h"

#define SPAN_NS TD_S(3600)

static uint8_t places(uint8_t limit)
{
	return limit < TD_VISITOR_RESETS_MAX ? limit : (uint8_t)TD_VISITOR_RESETS_MAX;
}

td_ns td_quota_free_ns(const struct td_quota *quota, uint8_t limit)
{
	return quota->next < places(limit) ? quota->free_ns[quota->next] : TD_NEVER;
}

bool td_quota_take(struct td_quota *quota, uint8_t limit, td_ns now_ns)
{
	if (quota->next >= places(limit) || now_ns < quota->free_ns[quota->next])
		return false;
	quota->free_ns[quota->next] = td_time_after(now_ns, SPAN_NS);
	quota->next = (uint8_t)((quota->next + 1) % places(limit));
	return true;
}
