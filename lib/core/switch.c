/* SPDX-License-Identifier: MIT */
#include "core/switch.h"

bool td_switch_reads_active(const struct td_switch_rules *rules, bool high)
{
	/* An open contact leaves the line at its pull. */
	bool open = high == (rules->pull == TD_PULL_UP);

	return rules->contact == TD_CONTACT_NO ? !open : open;
}

void td_switch_start(struct td_switch *sw, const struct td_switch_rules *rules, bool high, td_ns now_ns)
{
	sw->raw = td_switch_reads_active(rules, high);
	sw->active = sw->raw;
	sw->since_ns = now_ns;
	sw->pulses = 0;
}

void td_switch_level(struct td_switch *sw, const struct td_switch_rules *rules, bool high, td_ns now_ns)
{
	bool raw = td_switch_reads_active(rules, high);

	if (raw == sw->raw)
		return;
	/* td_switch_settle() ran before this level, so a pulse that is not yet active was too short. */
	if (!raw && !sw->active && sw->pulses < UINT32_MAX)
		sw->pulses++;
	sw->raw = raw;
	sw->since_ns = now_ns;
}

static td_ns filter_ns(const struct td_switch *sw, const struct td_switch_rules *rules)
{
	return sw->raw ? rules->confirm_ns : rules->clear_ns;
}

enum td_switch_edge td_switch_settle(struct td_switch *sw, const struct td_switch_rules *rules, td_ns now_ns)
{
	if (sw->raw == sw->active || now_ns < td_switch_deadline(sw, rules))
		return TD_SWITCH_NO_EDGE;
	sw->active = sw->raw;
	return sw->active ? TD_SWITCH_BECAME_ACTIVE : TD_SWITCH_BECAME_CLEAR;
}

td_ns td_switch_deadline(const struct td_switch *sw, const struct td_switch_rules *rules)
{
	if (sw->raw == sw->active)
		return TD_NEVER;
	return td_time_after(sw->since_ns, filter_ns(sw, rules));
}
