/* SPDX-License-Identifier: MIT */
#include "core/monitor_parts.h"

/* --- what running one way is worth in the other --------------------------------------------------- */

struct ratio {
	int64_t own_us;
	int64_t other_us;
};

/* False where the rules give no ratio, which a checked rule set never does. */
static bool ratio_of(const struct td_axis_rules *rules, uint8_t way, struct ratio *ratio)
{
	td_ns own_ns = rules->way[way].reach_ns;
	td_ns other_ns = rules->way[1 - way].reach_ns;

	*ratio = (struct ratio){own_ns / 1000, other_ns / 1000};
	return own_ns >= TD_REACH_MIN_NS && own_ns <= TD_REACH_MAX_NS && other_ns >= TD_REACH_MIN_NS &&
	       other_ns <= TD_REACH_MAX_NS;
}

/* Rounded up, without a cap. A reach is at most 6e8 us, so the product stays below 3.7e18. */
static td_ns worth_at_most(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	struct ratio ratio;

	if (!ratio_of(rules, way, &ratio) || span_ns / 1000 >= 10 * ratio.own_us)
		return TD_NEVER;
	return TD_US((span_ns / 1000 + 1) * (ratio.other_us + 1) / ratio.own_us + 1);
}

/* Rounded down, and never more than a whole reach. */
static td_ns worth_at_least(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	struct ratio ratio;

	if (!ratio_of(rules, way, &ratio))
		return 0;
	if (span_ns / 1000 >= ratio.own_us)
		return TD_US(ratio.other_us - 1);
	return TD_US(span_ns / 1000 * (ratio.other_us - 1) / (ratio.own_us + 1));
}

/* --- counting ------------------------------------------------------------------------------------- */

td_ns td_monitor_spent(const struct td_monitor *monitor, uint8_t axis, uint8_t way)
{
	const struct td_monitor_way *self = &monitor->axis[axis].way[way];

	return td_time_after(self->least_ns, td_time_between(self->counted_ns, monitor->now_ns));
}

struct td_monitor_spent td_monitor_spent_range(const struct td_monitor *monitor, const struct td_rules *rules,
					       uint8_t axis, uint8_t way, td_ns at_ns)
{
	const struct td_monitor_way *self = &monitor->axis[axis].way[way];
	const struct td_monitor_way *other = &monitor->axis[axis].way[1 - way];
	const struct td_axis_rules *own = &rules->axis[axis];
	td_ns least_ns = self->least_ns;
	td_ns most_ns = self->most_ns;
	uint8_t back = (uint8_t)(1 - way);

	if (self->on) {
		least_ns = td_time_after(least_ns, td_time_between(self->counted_ns, at_ns));
		most_ns = td_time_after(most_ns, td_time_between(self->rose_ns, at_ns));
	} else if (other->on) {
		td_ns span_ns = td_time_between(other->counted_ns, at_ns);

		least_ns = td_time_between(worth_at_most(own, back, span_ns), least_ns);
		span_ns = td_time_between(other->rose_ns, at_ns);
		most_ns = td_time_between(worth_at_least(own, back, span_ns), most_ns);
	}
	return (struct td_monitor_spent){least_ns, most_ns};
}

/* Brings the lower bounds of both ways up to now. */
static void count(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	struct td_monitor_way *self = &monitor->axis[axis].way[way];
	struct td_monitor_way *other = &monitor->axis[axis].way[1 - way];
	td_ns span_ns = td_time_between(self->counted_ns, monitor->now_ns);

	if (!self->on)
		return;
	self->least_ns = td_time_after(self->least_ns, span_ns);
	other->least_ns = td_time_between(worth_at_most(&rules->axis[axis], way, span_ns), other->least_ns);
	self->counted_ns = monitor->now_ns;
}

void td_monitor_recount(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	for (uint8_t way = 0; way < TD_WAYS; way++)
		count(monitor, rules, axis, way);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		monitor->axis[axis].way[way].least_ns = 0;
}

/* --- outputs -------------------------------------------------------------------------------------- */

/* R4, R5: power that ended no earlier than its limit, with nothing else that can have ended it, was a trip. */
static void deduce_trip(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *own = rules->axis[axis].way;
	td_ns spent_ns = td_monitor_spent(monitor, axis, way);
	bool left = td_monitor_at(monitor, own[1 - way].end_switch) && spent_ns >= own[way].leave_ns;
	bool out = own[way].end_switch < TD_SWITCHES_MAX && spent_ns >= own[way].limit_ns;

	if (!(left || out) || td_monitor_at(monitor, own[way].end_switch) ||
	    td_monitor_cuts_first(monitor->event.kind))
		return;
	td_monitor_trip(monitor, axis, left ? TD_BREACH_LEAVE_TIME : TD_BREACH_TRAVEL_TIME, way);
}

/* R11: it may have come to its end. */
static void forgive(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	uint8_t sw = rules->axis[axis].way[way].end_switch;

	if (!monitor->axis[axis].fresh_trip && (sw == TD_NO_SWITCH || td_monitor_at(monitor, sw)))
		monitor->axis[axis].way[way].suspect = false;
}

/* R6: cut because its stroke was used up, and for nothing else. */
static bool used_up(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_monitor_axis *self = &monitor->axis[axis];
	const struct td_way_rules *own = rules->axis[axis].way;

	return self->way[way].least_ns >= own[way].limit_ns && !self->tripped &&
	       !td_monitor_at(monitor, own[1 - way].end_switch) &&
	       !td_monitor_cuts_first(monitor->event.kind);
}

/* R6: it stands at its stop, and the way back is whole. */
static void stand_at_stop(struct td_monitor_axis *axis, const struct td_way_rules *own, uint8_t way)
{
	axis->located = true;
	axis->way[way].most_ns = own->limit_ns;
	axis->way[1 - way].most_ns = 0;
}

/* R6: a stroke is used up at most once; if it was, the other way begins anew. */
static void count_stroke(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *own = &rules->axis[axis].way[way];
	struct td_monitor_axis *self = &monitor->axis[axis];

	if (own->end_switch != TD_NO_SWITCH || self->way[way].most_ns < own->limit_ns)
		return;
	if (used_up(monitor, rules, axis, way))
		stand_at_stop(self, own, way);
	if (self->way[way].least_ns > own->limit_ns)
		self->way[way].least_ns = own->limit_ns;
	self->way[1 - way].least_ns = 0;
	self->lost = false;
}

/* R2: at its end, too, what is used up is a reach, or nothing. */
static void count_most(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way,
		       td_ns span_ns)
{
	const struct td_axis_rules *own = &rules->axis[axis];
	struct td_monitor_way *self = monitor->axis[axis].way;

	self[way].most_ns = td_time_after(self[way].most_ns, span_ns);
	if (td_monitor_at(monitor, own->way[way].end_switch))
		self[way].most_ns = td_time_earlier(self[way].most_ns, own->way[way].reach_ns);
	self[1 - way].most_ns = td_time_between(worth_at_least(own, way, span_ns), self[1 - way].most_ns);
}

/* R4, R5: it may have been a trip that ended the power, by the most that can have been counted. */
static bool may_have_tripped(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			     uint8_t way)
{
	const struct td_way_rules *own = rules->axis[axis].way;
	td_ns most_ns = monitor->axis[axis].way[way].most_ns;

	return (own[way].end_switch != TD_NO_SWITCH && most_ns >= own[way].limit_ns) ||
	       (td_monitor_at(monitor, own[1 - way].end_switch) && most_ns >= own[way].leave_ns);
}

static void cut(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	td_ns span_ns = td_time_between(self->way[way].rose_ns, monitor->now_ns);

	deduce_trip(monitor, rules, axis, way);
	forgive(monitor, rules, axis, way);
	count(monitor, rules, axis, way);
	count_most(monitor, rules, axis, way, span_ns);
	if (may_have_tripped(monitor, rules, axis, way))
		self->unseen = true;
	count_stroke(monitor, rules, axis, way);
	self->way[way].on = false;
	self->way[way].fell = true;
	self->way[way].low_ns = monitor->now_ns;
	self->cut_ns = monitor->now_ns;
	self->last_way = way;
	self->unwritten = true;
	td_monitor_uncover(self, monitor->now_ns);
}

void td_monitor_restore(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	td_ns restored_ns = rules->axis[axis].restored_ns;

	if (self->way[0].on || self->way[1].on || restored_ns <= 0)
		return;
	if (td_time_between(self->cut_ns, monitor->now_ns) < restored_ns)
		return;
	td_monitor_recount(monitor, rules, axis);
	self->located = false;
}

static void start(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	struct td_monitor_axis *self = &monitor->axis[axis];

	td_monitor_restore(monitor, rules, axis);
	td_monitor_pardoned(monitor, axis);
	self->unseen = false;
	self->way[way].on = true;
	self->way[way].rises = true;
	self->way[way].rose_ns = monitor->now_ns;
	self->way[way].counted_ns = monitor->now_ns;
	td_monitor_load_start(monitor, rules, axis, way);
	td_monitor_cover(self, way, monitor->now_ns);
}

void td_monitor_power(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		      uint32_t outputs)
{
	struct td_monitor_way *self = monitor->axis[axis].way;

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		self[way].rises = false;
		self[way].fell = false;
		if (self[way].on && (outputs >> (axis * TD_WAYS + way) & 1) == 0)
			cut(monitor, rules, axis, way);
	}
	td_monitor_claim(monitor, rules, axis);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (!self[way].on && (outputs >> (axis * TD_WAYS + way) & 1) != 0)
			start(monitor, rules, axis, way);
	td_monitor_duty_power(&monitor->axis[axis].duty, &rules->axis[axis].duty, self[0].on || self[1].on,
			      monitor->now_ns);
}

void td_monitor_written(struct td_monitor_axis *axis, td_ns now_ns)
{
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (axis->way[way].fell)
			axis->way[way].low_ns = now_ns;
	if (axis->unwritten)
		axis->cut_ns = now_ns;
	axis->unwritten = false;
}

bool td_monitor_moves(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	const struct td_monitor_axis *self = &monitor->axis[axis];

	return self->way[0].on || self->way[1].on ||
	       td_time_between(self->cut_ns, monitor->now_ns) < rules->axis[axis].rest_ns;
}
