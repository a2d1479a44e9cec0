/* SPDX-License-Identifier: MIT */
#include "core/rules.h"

#include <stddef.h>

static bool within(td_ns value, td_ns min, td_ns max)
{
	return value >= min && value <= max;
}

static struct td_rules_verdict fault(enum td_rules_fault what, uint8_t axis, uint8_t way, uint8_t sw)
{
	return (struct td_rules_verdict){what, axis, way, sw};
}

static bool switch_ok(const struct td_switch_rules *sw)
{
	return (sw->contact == TD_CONTACT_NC || sw->contact == TD_CONTACT_NO) &&
	       (sw->pull == TD_PULL_UP || sw->pull == TD_PULL_DOWN) &&
	       within(sw->confirm_ns, 0, TD_CONFIRM_MAX_NS) &&
	       within(sw->clear_ns, TD_CLEAR_MIN_NS, TD_CLEAR_MAX_NS);
}

static bool bar_ok(const struct td_rules *rules, uint8_t axis, const struct td_bar *bar)
{
	if (bar->axis >= rules->axes || bar->axis == axis)
		return false;
	if (bar->kind == TD_BAR_MOVING)
		return true;
	return (bar->kind == TD_BAR_AT_END || bar->kind == TD_BAR_OFF_END) && bar->way < TD_WAYS &&
	       rules->axis[bar->axis].way[bar->way].end_switch != TD_NO_SWITCH;
}

/* How many ways, the stop input and contacts of the cable use this switch. */
static unsigned int users(const struct td_rules *rules, uint8_t sw)
{
	unsigned int count = rules->stop_switch == sw;

	if (rules->cable.twist.source == TD_TWIST_SENSOR)
		count += (unsigned int)(rules->cable.contact[0] == sw) + (rules->cable.contact[1] == sw);
	for (uint8_t axis = 0; axis < rules->axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			count += rules->axis[axis].way[way].end_switch == sw;
	return count;
}

static enum td_rules_fault way_fault(const struct td_rules *rules, uint8_t axis,
				     const struct td_way_rules *way)
{
	bool has_end = way->end_switch != TD_NO_SWITCH;

	if (has_end && (way->end_switch >= rules->switches || users(rules, way->end_switch) != 1))
		return TD_RULES_END_SWITCH;
	if (!within(way->reach_ns, TD_REACH_MIN_NS, TD_REACH_MAX_NS))
		return TD_RULES_REACH;
	if (!within(way->limit_ns, way->reach_ns, way->reach_ns * 10))
		return TD_RULES_LIMIT;
	if (way->early_ns < 0 || way->early_ns >= way->reach_ns || (!has_end && way->early_ns != 0))
		return TD_RULES_EARLY;
	if (!within(way->leave_ns, TD_LEAVE_MIN_NS, TD_LEAVE_MAX_NS))
		return TD_RULES_LEAVE;
	if (!td_trend_rules_ok(&way->trend) || (!has_end && way->trend.needed != 0))
		return TD_RULES_TREND;
	if (way->bars > TD_BARS_MAX)
		return TD_RULES_BAR;
	for (uint8_t i = 0; i < way->bars; i++)
		if (!bar_ok(rules, axis, &way->bar[i]))
			return TD_RULES_BAR;
	return TD_RULES_OK;
}

static bool has_end_switch(const struct td_axis_rules *axis)
{
	return axis->way[0].end_switch != TD_NO_SWITCH || axis->way[1].end_switch != TD_NO_SWITCH;
}

static enum td_rules_fault axis_fault(const struct td_axis_rules *axis)
{
	if (!within(axis->dead_ns, TD_DEAD_TIME_MIN_NS, TD_DEAD_TIME_MAX_NS))
		return TD_RULES_DEAD_TIME;
	if (!within(axis->rest_ns, TD_REST_MIN_NS, TD_REST_MAX_NS))
		return TD_RULES_REST;
	if (!within(axis->restored_ns, 0, has_end_switch(axis) ? 0 : TD_RESTORED_MAX_NS))
		return TD_RULES_RESTORED;
	if (!td_duty_rules_ok(&axis->duty) || axis->duty.least_ns < TD_DUTY_LEAST_MIN_NS)
		return TD_RULES_DUTY;
	return TD_RULES_OK;
}

static struct td_rules_verdict check_axis(const struct td_rules *rules, uint8_t axis)
{
	enum td_rules_fault what = axis_fault(&rules->axis[axis]);

	if (what != TD_RULES_OK)
		return fault(what, axis, TD_NO_WAY, TD_NO_SWITCH);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		what = way_fault(rules, axis, &rules->axis[axis].way[way]);
		if (what != TD_RULES_OK)
			return fault(what, axis, way, TD_NO_SWITCH);
	}
	return fault(TD_RULES_OK, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
}

static struct td_rules_verdict check_switches(const struct td_rules *rules)
{
	if (rules->switches > TD_SWITCHES_MAX)
		return fault(TD_RULES_SWITCHES, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	for (uint8_t sw = 0; sw < rules->switches; sw++) {
		if (!switch_ok(&rules->sw[sw]))
			return fault(TD_RULES_CONFIRM, TD_NO_AXIS, TD_NO_WAY, sw);
		if (!td_chatter_rules_ok(&rules->sw[sw].chatter))
			return fault(TD_RULES_CHATTER, TD_NO_AXIS, TD_NO_WAY, sw);
	}
	if (rules->stop_switch != TD_NO_SWITCH && rules->stop_switch >= rules->switches)
		return fault(TD_RULES_STOP_SWITCH, TD_NO_AXIS, TD_NO_WAY, rules->stop_switch);
	return fault(TD_RULES_OK, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
}

static bool supply_ok(const struct td_rules *rules)
{
	return rules->supply.axes == rules->axes && td_supply_rules_ok(&rules->supply);
}

static bool cable_ok(const struct td_rules *rules)
{
	const struct td_cable_rules *cable = &rules->cable;
	bool ok = td_twist_rules_ok(&cable->twist);

	if (cable->twist.source == TD_TWIST_UNLIMITED)
		return ok;
	ok = ok && cable->drive < rules->axes && cable->steering < rules->axes &&
	     cable->drive != cable->steering && cable->left < TD_WAYS && cable->springs <= 1;
	if (cable->twist.source != TD_TWIST_SENSOR)
		return ok;
	for (int i = 0; i < 2; i++)
		ok = ok && cable->contact[i] < rules->switches && users(rules, cable->contact[i]) == 1;
	return ok;
}

struct td_rules_verdict td_rules_check(const struct td_rules *rules)
{
	if (rules->axes < 1 || rules->axes > TD_AXES_MAX)
		return fault(TD_RULES_AXES, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	if (rules->visitor_resets > TD_VISITOR_RESETS_MAX)
		return fault(TD_RULES_VISITOR_RESETS, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);

	struct td_rules_verdict verdict = check_switches(rules);

	for (uint8_t axis = 0; axis < rules->axes && verdict.fault == TD_RULES_OK; axis++)
		verdict = check_axis(rules, axis);
	if (verdict.fault == TD_RULES_OK && !supply_ok(rules))
		return fault(TD_RULES_SUPPLY, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	if (verdict.fault == TD_RULES_OK && !cable_ok(rules))
		return fault(TD_RULES_CABLE, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	return verdict;
}
