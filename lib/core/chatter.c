/* SPDX-License-Identifier: MIT */
#include "core/chatter.h"

static bool within(td_ns value, td_ns min, td_ns max)
{
	return value >= min && value <= max;
}

bool td_chatter_rules_ok(const struct td_chatter_rules *rules)
{
	if (rules->changes == 0)
		return rules->window_ns == 0;
	return within(rules->changes, TD_CHATTER_CHANGES_MIN, TD_CHATTER_CHANGES_MAX) &&
	       within(rules->window_ns, TD_CHATTER_WINDOW_MIN_NS, TD_CHATTER_WINDOW_MAX_NS);
}

void td_chatter_start(struct td_chatter *chatter)
{
	chatter->count = 0;
}

static bool lately(const struct td_chatter *chatter, td_ns span_ns, td_ns now_ns)
{
	return chatter->count > 0 && td_time_between(chatter->last_ns, now_ns) < span_ns;
}

/* Counts a change; true if it and as many as fill the ring lie within one window. */
static bool too_many(struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns)
{
	uint8_t size = rules->changes;
	uint8_t at = chatter->next < size ? chatter->next : 0;
	bool full = chatter->count >= size;
	bool close = td_time_between(chatter->counted_ns[at], now_ns) < rules->window_ns;

	chatter->counted_ns[at] = now_ns;
	chatter->last_ns = now_ns;
	chatter->next = (uint8_t)(at + 1);
	if (!full)
		chatter->count++;
	return full && close;
}

bool td_chatter_change(struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns)
{
	if (rules->changes == 0 || rules->changes > TD_CHATTER_CHANGES_MAX ||
	    lately(chatter, TD_CHATTER_BOUNCE_NS, now_ns))
		return false;
	if (!too_many(chatter, rules, now_ns) || chatter->marked)
		return false;
	chatter->marked = true;
	return true;
}

bool td_chatter_restless(const struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns)
{
	return chatter->marked && lately(chatter, rules->window_ns, now_ns);
}

void td_chatter_forgive(struct td_chatter *chatter)
{
	chatter->marked = false;
}
