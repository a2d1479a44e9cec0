/* SPDX-License-Identifier: MIT */
/* R8, R11: what an end that becomes active tells, and the trips that follow from it. */
#include "core/monitor_parts.h"

/* --- trips ---------------------------------------------------------------------------------------- */

/* R11: the second trip in a row locks the way. */
static void charge(struct td_monitor_way *way)
{
	if (way->suspect)
		way->locked = true;
	way->suspect = true;
}

void td_monitor_trip(struct td_monitor *monitor, uint8_t axis, enum td_breach as, uint8_t on)
{
	struct td_monitor_axis *self = &monitor->axis[axis];

	if (!self->tripped) {
		self->fresh_trip = true;
		self->trip = as;
		self->keepers = on < TD_WAYS && as != TD_BREACH_TRAVEL_TIME;
		if (on < TD_WAYS)
			charge(&self->way[on]);
	}
	self->tripped = true;
	self->unseen = true;
	self->located = false;
	self->lost = true;
	td_monitor_end_all(self, monitor->now_ns);
}

/* Of these events nothing takes the power before a trip that all of them may bring. */
static bool only_trips(enum td_event_kind kind)
{
	return kind == TD_EVENT_TIME || kind == TD_EVENT_LEVELS || kind == TD_EVENT_REQUEST ||
	       kind == TD_EVENT_WRITTEN || kind == TD_EVENT_LINES_LOST || kind == TD_EVENT_BREACH;
}

uint8_t td_monitor_powered(const struct td_monitor *monitor, uint8_t axis)
{
	const struct td_monitor_way *way = monitor->axis[axis].way;

	if (way[0].on == way[1].on || !only_trips(monitor->event.kind) || monitor->latched)
		return TD_NO_WAY;
	return way[0].on ? 0 : 1;
}

/* --- an end becomes active ------------------------------------------------------------------------ */

/* It cannot be rolling on toward this end. */
static bool at_rest_from(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			 uint8_t end)
{
	const struct td_monitor_axis *self = &monitor->axis[axis];

	return (self->last_way < TD_WAYS && self->last_way != end) ||
	       td_time_between(self->cut_ns, monitor->now_ns) >= rules->axis[axis].rest_ns;
}

/* Powered that way, or certainly taken for one that rolls on that way. */
static bool comes(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t end)
{
	const struct td_monitor_way *way = monitor->axis[axis].way;

	if (way[0].on || way[1].on)
		return way[end].on && !way[1 - end].on;
	return !at_rest_from(monitor, rules, axis, end);
}

/* The most powered time that the core can have counted toward this end. */
static td_ns most_ns(const struct td_monitor *monitor, const struct td_monitor_way *way)
{
	return way->on ? td_time_after(way->most_ns, td_time_between(way->rose_ns, monitor->now_ns))
		       : way->most_ns;
}

/* R8: sooner than it can have come there. */
static bool too_early(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		      uint8_t end)
{
	const struct td_monitor_axis *self = &monitor->axis[axis];

	return self->located && most_ns(monitor, &self->way[end]) < rules->axis[axis].way[end].early_ns &&
	       comes(monitor, rules, axis, end);
}

/* It may be that the axis stood still elsewhere, and this end says nothing (R8): then it is nowhere. */
static bool tells_place(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			uint8_t end, enum td_event_kind kind)
{
	return comes(monitor, rules, axis, end) ||
	       (monitor->axis[axis].way[1 - end].on && !td_monitor_cuts_first(kind)) ||
	       monitor->axis[axis].way[end].least_ns >= rules->axis[axis].way[end].early_ns;
}

/* At an end the way there is done, or nothing is known of it, and the way back is whole. */
static void count_from_end(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			   uint8_t end)
{
	td_monitor_recount(monitor, rules, axis);
	monitor->axis[axis].way[end].most_ns = rules->axis[axis].way[end].reach_ns;
	monitor->axis[axis].way[1 - end].most_ns = 0;
}

static void end_rose(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t end,
		     enum td_event_kind kind)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	uint8_t away = (uint8_t)(1 - end);
	bool running = self->way[away].on && !self->way[end].on;
	bool told = tells_place(monitor, rules, axis, end, kind);

	if (too_early(monitor, rules, axis, end))
		td_monitor_trip(monitor, axis, TD_BREACH_EARLY_END,
				self->way[end].on && !td_monitor_cuts_first(kind) ? end : (uint8_t)TD_NO_WAY);
	if (running && !td_monitor_cuts_first(kind) && at_rest_from(monitor, rules, axis, end) &&
	    td_monitor_spent(monitor, axis, away) >= rules->axis[axis].way[away].leave_ns)
		td_monitor_trip(monitor, axis, TD_BREACH_WRONG_END, away);
	self->located = told && !self->tripped;
	self->lost = false;
	count_from_end(monitor, rules, axis, end);
}

/* What may trip an axis without anybody knowing here: an end that becomes active where it should not, and chatter. */
static bool may_trip(const struct td_monitor *monitor, const struct td_way_rules *way)
{
	for (uint8_t end = 0; end < TD_WAYS; end++)
		if (way[end].end_switch < TD_SWITCHES_MAX &&
		    ((monitor->rose >> way[end].end_switch & 1) != 0 ||
		     monitor->contact[way[end].end_switch].changes >= TD_CHATTER_CHANGES_MIN))
			return true;
	return false;
}

void td_monitor_ends(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		     enum td_event_kind kind)
{
	const struct td_way_rules *way = rules->axis[axis].way;

	if (may_trip(monitor, way))
		monitor->axis[axis].unseen = true;
	if (td_monitor_at(monitor, way[0].end_switch) && td_monitor_at(monitor, way[1].end_switch))
		td_monitor_trip(monitor, axis, TD_BREACH_BOTH_ENDS, td_monitor_powered(monitor, axis));
	if (td_monitor_chatters(monitor, way[0].end_switch) ||
	    td_monitor_chatters(monitor, way[1].end_switch))
		td_monitor_trip(monitor, axis, TD_BREACH_CHATTER, td_monitor_powered(monitor, axis));
	if (monitor->rose == 0)
		return;
	for (uint8_t end = 0; end < TD_WAYS; end++)
		if (way[end].end_switch < TD_SWITCHES_MAX && (monitor->rose >> way[end].end_switch & 1) != 0)
			end_rose(monitor, rules, axis, end, kind);
}

/* A trip forgets what was powered. */
static void recount_most(struct td_monitor_way *way, bool at_end, const struct td_way_rules *own,
			 bool tripped)
{
	if (tripped)
		way->most_ns = 0;
	if (at_end && way->most_ns < own->reach_ns)
		way->most_ns = own->reach_ns;
}

void td_monitor_relocate(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	const struct td_way_rules *own = rules->axis[axis].way;
	bool ended = own[0].end_switch != TD_NO_SWITCH || own[1].end_switch != TD_NO_SWITCH;
	bool anywhere = false;

	for (uint8_t end = 0; end < TD_WAYS; end++) {
		bool at_end = td_monitor_at(monitor, own[end].end_switch);

		recount_most(&self->way[end], at_end, &own[end], self->tripped);
		anywhere = anywhere || at_end;
	}
	/* Without an end switch no trip is unseen. */
	self->located = self->tripped ? anywhere : self->located && (anywhere || !ended);
	self->lost = self->lost && !anywhere;
}
