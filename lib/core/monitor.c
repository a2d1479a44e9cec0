/* SPDX-License-Identifier: MIT */
#include "core/monitor.h"

#include <string.h>

#include "core/monitor_parts.h"

void td_monitor_init(struct td_monitor *monitor, const struct td_rules *rules, td_ns now_ns)
{
	(void)rules;
	memset(monitor, 0, sizeof(*monitor));
	monitor->now_ns = now_ns > 0 ? now_ns : 0;
	td_monitor_twist_init(&monitor->twist, monitor->now_ns);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		struct td_monitor_axis *self = &monitor->axis[axis];

		self->last_way = TD_NO_WAY;
		self->cut_ns = monitor->now_ns;
		self->stop_ns = monitor->now_ns;
		self->denied_way = TD_NO_WAY;
		self->lost = true;
		td_monitor_duty_init(&self->duty, monitor->now_ns);
		for (uint8_t way = 0; way < TD_WAYS; way++)
			self->way[way].low_ns = monitor->now_ns;
	}
}

void td_monitor_keep_twist(struct td_monitor *monitor, const struct td_twist *kept)
{
	td_monitor_twist_kept(&monitor->twist, kept);
}

static void advance(struct td_monitor *monitor, td_ns at_ns)
{
	if (at_ns > monitor->now_ns && at_ns < TD_NEVER)
		monitor->now_ns = at_ns;
}

static void end_all(struct td_monitor *monitor)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		td_monitor_end_all(&monitor->axis[axis], monitor->now_ns);
}

static void latch(struct td_monitor *monitor, const struct td_event *event)
{
	monitor->latched = true;
	td_monitor_overtake_all(monitor, td_monitor_heard(monitor, event));
	end_all(monitor);
}

/* A stop for an axis that does not exist is one for all. */
static void stop(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++) {
		if (event->axis < rules->axes && event->axis != axis)
			continue;
		td_monitor_overtake(&monitor->axis[axis], td_monitor_heard(monitor, event));
		td_monitor_end_all(&monitor->axis[axis], monitor->now_ns);
	}
}

static void trip_all(struct td_monitor *monitor, const struct td_rules *rules)
{
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		td_monitor_trip(monitor, axis, TD_BREACH_TRIPPED, td_monitor_powered(monitor, axis));
}

static void lines_lost(struct td_monitor *monitor, const struct td_rules *rules)
{
	monitor->armed = false;
	monitor->known = false;
	trip_all(monitor, rules);
}

static void lock_kept(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	if (event->axis >= td_monitor_axes(rules) || event->way >= TD_WAYS)
		return;
	monitor->axis[event->axis].way[event->way].locked = true;
}

/* R12: an axis that is off is believed to be cold and rested. */
static void cooled(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	if (event->role != TD_ROLE_KEEPER)
		return;
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		if ((event->axis == TD_ALL_AXES || event->axis == axis) && !monitor->axis[axis].duty.on)
			td_monitor_duty_init(&monitor->axis[axis].duty, monitor->now_ns);
}

static void arm(struct td_monitor *monitor)
{
	if (!monitor->known)
		return;
	monitor->armed = true;
	td_monitor_overtake_all(monitor, monitor->now_ns);
}

static void disarm(struct td_monitor *monitor)
{
	monitor->armed = false;
	end_all(monitor);
}

static void released(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	if (event->axis < td_monitor_axes(rules))
		td_monitor_end_hold(&monitor->axis[event->axis], event->session, event->hold,
				    monitor->now_ns);
}

static void end_session(struct td_monitor *monitor, const struct td_event *event)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		td_monitor_end_session(&monitor->axis[axis], event->session, monitor->now_ns);
}

static void written(struct td_monitor *monitor)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		td_monitor_written(&monitor->axis[axis], monitor->now_ns);
}

static void take_order(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	switch (event->kind) {
	case TD_EVENT_STOP: stop(monitor, rules, event); break;
	case TD_EVENT_LATCH:
	case TD_EVENT_LATCH_KEPT: latch(monitor, event); break;
	case TD_EVENT_RELEASE: released(monitor, rules, event); break;
	case TD_EVENT_GONE:
	case TD_EVENT_TURN_OVER: end_session(monitor, event); break;
	case TD_EVENT_RESET: td_monitor_reset(monitor, rules, event); break;
	case TD_EVENT_ARM: arm(monitor); break;
	case TD_EVENT_DISARM: disarm(monitor); break;
	case TD_EVENT_LINES_LOST: lines_lost(monitor, rules); break;
	case TD_EVENT_WRITTEN: written(monitor); break;
	case TD_EVENT_COOLED: cooled(monitor, rules, event); break;
	case TD_EVENT_BREACH: trip_all(monitor, rules); break;
	case TD_EVENT_LOCK_KEPT: lock_kept(monitor, rules, event); break;
	case TD_EVENT_TIME:
	case TD_EVENT_LEVELS:
	case TD_EVENT_REQUEST:
	case TD_EVENT_UNTWISTED: /* taken already */
	case TD_EVENT_KINDS:
	default: break;
	}
}

void td_monitor_see(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	advance(monitor, event->at_ns);
	monitor->event = *event;
	monitor->asked = false;
	td_monitor_cable_drive(monitor, rules);
	td_monitor_sight(monitor, rules, event);
	td_monitor_cable_feel(monitor, rules);
	if (event->kind == TD_EVENT_UNTWISTED)
		td_monitor_untwisted(monitor, rules, event);
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++) {
		monitor->axis[axis].fresh_trip = false;
		td_monitor_expire(&monitor->axis[axis], monitor->now_ns);
	}
	take_order(monitor, rules, event);
	if (!monitor->latched &&
	    (td_monitor_at(monitor, rules->stop_switch) || td_monitor_chatters(monitor, rules->stop_switch)))
		latch(monitor, event);
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		td_monitor_ends(monitor, rules, axis, event->kind);
	if (event->kind == TD_EVENT_REQUEST)
		td_monitor_request(monitor, rules, event);
}

/* An output beyond the last axis has nobody who could have asked for it. */
static bool only_axes(const struct td_monitor *monitor, const struct td_rules *rules, uint32_t outputs,
		      struct td_verdict *verdict)
{
	unsigned int bits = (unsigned int)td_monitor_axes(rules) * TD_WAYS;

	*verdict = (struct td_verdict){.axis = TD_NO_AXIS, .way = TD_NO_WAY, .at_ns = monitor->now_ns};
	if (bits >= 32 || outputs >> bits == 0)
		return true;
	verdict->breach = TD_BREACH_NO_SUCH_OUTPUT;
	verdict->rule = td_breach_info(TD_BREACH_NO_SUCH_OUTPUT)->rule;
	return false;
}

static bool every_way(const struct td_monitor *monitor, const struct td_rules *rules,
		      bool (*holds)(const struct td_monitor *, const struct td_rules *, uint8_t, uint8_t,
				    struct td_verdict *),
		      struct td_verdict *verdict)
{
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if (monitor->axis[axis].way[way].on && !holds(monitor, rules, axis, way, verdict))
				return false;
	return true;
}

bool td_monitor_judge(struct td_monitor *monitor, const struct td_rules *rules, td_ns now_ns,
		      uint32_t outputs, struct td_verdict *verdict)
{
	advance(monitor, now_ns);
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		td_monitor_power(monitor, rules, axis, outputs);
	monitor->outputs = outputs;
	if (!only_axes(monitor, rules, outputs, verdict))
		return false;
	return every_way(monitor, rules, td_monitor_check, verdict) &&
	       every_way(monitor, rules, td_monitor_check_supply, verdict);
}
