/* SPDX-License-Identifier: MIT */
#include "core/monitor_parts.h"

static uint8_t switches(const struct td_rules *rules)
{
	return rules->switches < TD_SWITCHES_MAX ? rules->switches : (uint8_t)TD_SWITCHES_MAX;
}

/* A closed contact pulls its line away from where the resistor holds it. */
static bool means_active(const struct td_switch_rules *rules, bool high)
{
	bool closed = rules->pull == TD_PULL_UP ? !high : high;

	return rules->contact == TD_CONTACT_NO ? closed : !closed;
}

static bool level(const struct td_event *event, uint8_t sw)
{
	return (event->levels & UINT32_C(1) << sw) != 0;
}

/* R2: `raw` counts once it has lasted as long as its direction asks for, without a break. */
static void let_settle(struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw)
{
	struct td_monitor_switch *self = &monitor->sw[sw];
	td_ns need_ns = self->raw ? rules->sw[sw].confirm_ns : rules->sw[sw].clear_ns;

	if (self->raw == self->active || td_time_between(self->since_ns, monitor->now_ns) < need_ns)
		return;
	self->active = self->raw;
	if (self->active)
		monitor->rose |= UINT32_C(1) << sw;
}

static void look(struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw, bool high)
{
	struct td_monitor_switch *self = &monitor->sw[sw];
	bool raw = means_active(&rules->sw[sw], high);

	if (raw == self->raw)
		return;
	self->raw = raw;
	self->since_ns = monitor->now_ns;
	td_monitor_changed(monitor, rules, sw);
	let_settle(monitor, rules, sw);
}

/* What is seen first is taken as it is. */
static void first_look(struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw, bool high)
{
	bool active = means_active(&rules->sw[sw], high);

	monitor->sw[sw] = (struct td_monitor_switch){active, active, monitor->now_ns};
	monitor->contact[sw].changes = 0;
	if (active)
		monitor->rose |= UINT32_C(1) << sw;
}

void td_monitor_sight(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	bool levels = event->kind == TD_EVENT_LEVELS;

	monitor->rose = 0;
	for (uint8_t sw = 0; sw < switches(rules); sw++) {
		if (monitor->known)
			let_settle(monitor, rules, sw);
		if (levels && monitor->known)
			look(monitor, rules, sw, level(event, sw));
		else if (levels)
			first_look(monitor, rules, sw, level(event, sw));
	}
	monitor->known = monitor->known || levels;
}

bool td_monitor_at(const struct td_monitor *monitor, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && monitor->sw[sw].active;
}

bool td_monitor_near(const struct td_monitor *monitor, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && (monitor->sw[sw].active || monitor->sw[sw].raw);
}
