/* SPDX-License-Identifier: MIT */
/* R10, R11: what a reset may have changed, and how many of the visitors' certainly were taken. */
#include "core/monitor_parts.h"

static bool both_ends(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	const struct td_way_rules *way = rules->axis[axis].way;

	return td_monitor_at(monitor, way[0].end_switch) && td_monitor_at(monitor, way[1].end_switch);
}

/* R8: an end still chatters. */
static bool restless(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	const struct td_way_rules *way = rules->axis[axis].way;

	return td_monitor_restless(monitor, rules, way[0].end_switch) ||
	       td_monitor_restless(monitor, rules, way[1].end_switch);
}

static bool still_there(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	return both_ends(monitor, rules, axis) || restless(monitor, rules, axis);
}

/* A visitor's reset may have been taken; if the axis had tripped for certain and is powered again without the keeper's,
 * one of theirs was. */
static void pardon(struct td_monitor_axis *axis, bool visitor, td_ns now_ns)
{
	struct td_monitor_pardon *self = &axis->pardon;

	if (visitor && (axis->tripped || self->pending))
		*self = (struct td_monitor_pardon){
			.pending = true,
			.first_ns = self->pending ? self->first_ns : now_ns,
			.last_ns = now_ns,
		};
	else
		self->pending = false;
}

/* R11: where the axis stands is judged anew if it had tripped, known or not; an axis that is on had not, and where nothing
 * can have tripped the core finds nothing to reset. */
static void reset_axis(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, bool visitor)
{
	struct td_monitor_axis *self = &monitor->axis[axis];

	self->doubt_ns = monitor->now_ns; /* where there was a lock to reset, requests are overtaken too */
	if (self->way[0].on || self->way[1].on || !(self->tripped || self->unseen))
		return;
	td_monitor_recount(monitor, rules, axis);
	if (still_there(monitor, rules, axis))
		return;
	pardon(self, visitor, monitor->now_ns);
	td_monitor_relocate(monitor, rules, axis);
	if (!self->tripped)
		return;
	for (uint8_t end = 0; end < TD_WAYS; end++)
		td_monitor_forgive(monitor, rules->axis[axis].way[end].end_switch);
	self->tripped = false;
	self->keepers = false;
	td_monitor_overtake(self, monitor->now_ns);
}

/* R11: the keeper's. A way that is suspect may have been locked by trips nobody could know of here. */
static void reset_locks(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	if (still_there(monitor, rules, axis))
		return;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		monitor->axis[axis].way[way].locked = false;
		monitor->axis[axis].way[way].suspect = false;
	}
}

static void reset_latch(struct td_monitor *monitor, const struct td_rules *rules)
{
	if (!monitor->latched || td_monitor_near(monitor, rules->stop_switch) ||
	    td_monitor_restless(monitor, rules, rules->stop_switch))
		return;
	td_monitor_forgive(monitor, rules->stop_switch);
	monitor->latched = false;
	td_monitor_overtake_all(monitor, monitor->now_ns);
}

/* R11: a visitor's may have been taken. */
static void reset_by_visitor(struct td_monitor *monitor, const struct td_rules *rules,
			     const struct td_event *event)
{
	if (event->axis < td_monitor_axes(rules) && rules->visitor_resets > 0 &&
	    !monitor->axis[event->axis].keepers)
		reset_axis(monitor, rules, event->axis, true);
}

void td_monitor_reset(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event)
{
	if (event->role != TD_ROLE_KEEPER) {
		reset_by_visitor(monitor, rules, event);
		return;
	}
	if (event->axis == TD_ALL_AXES)
		reset_latch(monitor, rules);
	for (uint8_t axis = 0; axis < td_monitor_axes(rules); axis++)
		if (event->axis == TD_ALL_AXES || event->axis == axis) {
			reset_locks(monitor, rules, axis);
			reset_axis(monitor, rules, axis, false);
		}
}

/* --- how often visitors may (R11) ----------------------------------------------------------------- */

enum { TAKEN_MAX = TD_VISITOR_RESETS_MAX + 1 };

/* Nearly always newer than all others: which of two axes is powered first decides. */
static void put_in_order(struct td_monitor_resets *resets, td_ns taken_ns)
{
	int at = resets->count < TAKEN_MAX ? resets->count++ : TAKEN_MAX - 1;

	for (; at > 0 && resets->taken_ns[at - 1] < taken_ns; at--)
		resets->taken_ns[at] = resets->taken_ns[at - 1];
	resets->taken_ns[at] = taken_ns;
}

void td_monitor_pardoned(struct td_monitor *monitor, uint8_t axis)
{
	struct td_monitor_pardon *pardon = &monitor->axis[axis].pardon;

	pardon->taken = pardon->pending;
	pardon->pending = false;
	if (!pardon->taken)
		return;
	put_in_order(&monitor->resets, pardon->first_ns);
	if (monitor->resets.last_ns < pardon->last_ns)
		monitor->resets.last_ns = pardon->last_ns;
}

td_ns td_monitor_resets_span(const struct td_monitor *monitor, const struct td_rules *rules)
{
	const struct td_monitor_resets *resets = &monitor->resets;

	if (rules->visitor_resets >= resets->count)
		return TD_NEVER;
	return td_time_between(resets->taken_ns[rules->visitor_resets], resets->last_ns);
}
