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

/* At an end the way back is whole. */
static void count_from_end(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			   uint8_t end)
{
	td_monitor_recount(monitor, rules, axis);
	monitor->axis[axis].way[1 - end].most_ns = 0;
}

/* --- ends ----------------------------------------------------------------------------------------- */

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
	td_monitor_end_all(self, monitor->now_ns);
}

/* It cannot be rolling on toward this end. */
static bool at_rest_from(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			 uint8_t end)
{
	const struct td_monitor_axis *self = &monitor->axis[axis];

	return (self->last_way < TD_WAYS && self->last_way != end) ||
	       td_time_between(self->cut_ns, monitor->now_ns) >= rules->axis[axis].rest_ns;
}

/* These may have taken the power before anybody looked at the ends. */
static bool cuts_first(enum td_event_kind kind)
{
	return kind == TD_EVENT_STOP || kind == TD_EVENT_RELEASE || kind == TD_EVENT_GONE ||
	       kind == TD_EVENT_LOCK_KEPT;
}

static void end_rose(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t end,
		     enum td_event_kind kind)
{
	uint8_t away = (uint8_t)(1 - end);
	bool running = monitor->axis[axis].way[away].on && !monitor->axis[axis].way[end].on;

	if (running && !cuts_first(kind) && at_rest_from(monitor, rules, axis, end) &&
	    td_monitor_spent(monitor, axis, away) >= rules->axis[axis].way[away].leave_ns)
		td_monitor_trip(monitor, axis, TD_BREACH_WRONG_END, away);
	count_from_end(monitor, rules, axis, end);
}

void td_monitor_ends(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		     enum td_event_kind kind)
{
	const struct td_way_rules *way = rules->axis[axis].way;

	if (td_monitor_at(monitor, way[0].end_switch) && td_monitor_at(monitor, way[1].end_switch))
		td_monitor_trip(monitor, axis, TD_BREACH_BOTH_ENDS, TD_NO_WAY);
	if (td_monitor_chatters(monitor, way[0].end_switch) ||
	    td_monitor_chatters(monitor, way[1].end_switch))
		td_monitor_trip(monitor, axis, TD_BREACH_CHATTER, TD_NO_WAY);
	if (monitor->rose == 0)
		return;
	for (uint8_t end = 0; end < TD_WAYS; end++)
		if (way[end].end_switch < TD_SWITCHES_MAX && (monitor->rose >> way[end].end_switch & 1) != 0)
			end_rose(monitor, rules, axis, end, kind);
}

/* --- outputs -------------------------------------------------------------------------------------- */

/* R4, R5: power that ended no earlier than its limit, with nothing else that can have ended it, was a trip. */
static void deduce_trip(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *own = rules->axis[axis].way;
	td_ns spent_ns = td_monitor_spent(monitor, axis, way);
	bool left = td_monitor_at(monitor, own[1 - way].end_switch) && spent_ns >= own[way].leave_ns;
	bool out = own[way].end_switch < TD_SWITCHES_MAX && spent_ns >= own[way].limit_ns;

	if (!(left || out) || td_monitor_at(monitor, own[way].end_switch) || cuts_first(monitor->event.kind))
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

/* R6: a stroke is used up at most once; if it was, the other way begins anew. */
static void count_stroke(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *own = &rules->axis[axis].way[way];
	struct td_monitor_way *self = &monitor->axis[axis].way[way];

	if (own->end_switch != TD_NO_SWITCH)
		return;
	if (self->least_ns > own->limit_ns)
		self->least_ns = own->limit_ns;
	if (self->most_ns >= own->limit_ns)
		monitor->axis[axis].way[1 - way].least_ns = 0;
}

static void cut(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	td_ns span_ns = td_time_between(self->way[way].rose_ns, monitor->now_ns);
	td_ns back_ns = worth_at_least(&rules->axis[axis], way, span_ns);

	deduce_trip(monitor, rules, axis, way);
	forgive(monitor, rules, axis, way);
	count(monitor, rules, axis, way);
	self->way[way].most_ns = td_time_after(self->way[way].most_ns, span_ns);
	self->way[1 - way].most_ns = td_time_between(back_ns, self->way[1 - way].most_ns);
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
	if (td_time_between(self->cut_ns, monitor->now_ns) >= restored_ns)
		td_monitor_recount(monitor, rules, axis);
}

static void start(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	struct td_monitor_axis *self = &monitor->axis[axis];

	td_monitor_restore(monitor, rules, axis);
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
