/* SPDX-License-Identifier: MIT */
/* R8 as an outsider counts it: the times of the last changes, newest first. */
#include "core/monitor_parts.h"

static bool within(const struct td_monitor_contact *contact, unsigned int nth, td_ns span_ns, td_ns now_ns)
{
	return nth < contact->changes && now_ns - contact->changed_ns[nth] < span_ns;
}

static void put_first(struct td_monitor_contact *contact, td_ns now_ns)
{
	for (unsigned int i = TD_CHATTER_CHANGES_MAX; i > 0; i--)
		contact->changed_ns[i] = contact->changed_ns[i - 1];
	contact->changed_ns[0] = now_ns;
	if (contact->changes <= TD_CHATTER_CHANGES_MAX)
		contact->changes++;
}

void td_monitor_changed(struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw)
{
	struct td_monitor_contact *self = &monitor->contact[sw];
	const struct td_chatter_rules *own = &rules->sw[sw].chatter;

	if (own->changes == 0 || within(self, 0, TD_CHATTER_BOUNCE_NS, monitor->now_ns))
		return;
	put_first(self, monitor->now_ns);
	if (within(self, own->changes, own->window_ns, monitor->now_ns))
		self->chatters = true;
}

bool td_monitor_chatters(const struct td_monitor *monitor, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && monitor->contact[sw].chatters;
}

bool td_monitor_restless(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw)
{
	return td_monitor_chatters(monitor, sw) &&
	       within(&monitor->contact[sw], 0, rules->sw[sw].chatter.window_ns, monitor->now_ns);
}

void td_monitor_forgive(struct td_monitor *monitor, uint8_t sw)
{
	if (sw < TD_SWITCHES_MAX)
		monitor->contact[sw].chatters = false;
}
