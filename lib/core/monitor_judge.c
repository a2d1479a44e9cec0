/* SPDX-License-Identifier: MIT */
#include "core/monitor_parts.h"

/* One powered way in front of the judge. */
struct trial {
	const struct td_monitor *monitor;
	const struct td_rules *rules;
	const struct td_monitor_axis *axis;
	const struct td_axis_rules *own;
	struct td_verdict *verdict;
	uint8_t index;
	uint8_t way;
};

/* Returns false, for the caller to pass on. */
static bool broken(const struct trial *trial, enum td_breach breach, td_ns measured_ns, td_ns bound_ns)
{
	*trial->verdict = (struct td_verdict){
		.breach = breach,
		.rule = td_breach_info(breach)->rule,
		.axis = trial->index,
		.way = trial->way,
		.at_ns = trial->monitor->now_ns,
		.measured_ns = measured_ns,
		.bound_ns = bound_ns,
	};
	return false;
}

static bool one_input(const struct trial *trial)
{
	if (trial->axis->way[0].on && trial->axis->way[1].on)
		return broken(trial, TD_BREACH_BOTH_INPUTS, 0, 0);
	return true;
}

static bool machine_ready(const struct trial *trial)
{
	if (!trial->monitor->known)
		return broken(trial, TD_BREACH_LEVELS_UNKNOWN, 0, 0);
	if (!trial->monitor->armed)
		return broken(trial, TD_BREACH_NOT_ARMED, 0, 0);
	if (trial->monitor->latched)
		return broken(trial, TD_BREACH_LATCHED, 0, 0);
	return true;
}

static bool no_trip(const struct trial *trial)
{
	bool goes_on = trial->axis->fresh_trip && !trial->axis->way[trial->way].rises;

	if (trial->axis->tripped)
		return broken(trial, goes_on ? trial->axis->trip : TD_BREACH_TRIPPED, 0, 0);
	return true;
}

/* R11: it comes back by a visitor's reset. */
static bool resets_left(const struct trial *trial)
{
	td_ns span_ns = td_monitor_resets_span(trial->monitor, trial->rules);

	if (trial->axis->way[trial->way].rises && trial->axis->pardon.taken && span_ns < TD_S(3600))
		return broken(trial, TD_BREACH_RESETS_SPENT, span_ns, TD_S(3600));
	return true;
}

static bool not_locked(const struct trial *trial)
{
	if (trial->axis->way[trial->way].locked)
		return broken(trial, TD_BREACH_WAY_LOCKED, 0, 0);
	return true;
}

static bool end_free(const struct trial *trial)
{
	uint8_t sw = trial->own->way[trial->way].end_switch;

	if (!td_monitor_near(trial->monitor, sw))
		return true;
	td_ns lasted_ns = td_time_between(trial->monitor->sw[sw].since_ns, trial->monitor->now_ns);

	if (trial->axis->way[trial->way].rises)
		return broken(trial, TD_BREACH_START_INTO_END, lasted_ns, 0);
	if (td_monitor_at(trial->monitor, sw))
		return broken(trial, TD_BREACH_INTO_END, lasted_ns, trial->rules->sw[sw].confirm_ns);
	return true;
}

static bool time_left(const struct trial *trial)
{
	const struct td_way_rules *own = &trial->own->way[trial->way];
	td_ns spent_ns = td_monitor_spent(trial->monitor, trial->index, trial->way);
	bool stroke = own->end_switch == TD_NO_SWITCH;

	if (td_monitor_at(trial->monitor, trial->own->way[1 - trial->way].end_switch) &&
	    spent_ns >= own->leave_ns)
		return broken(trial, TD_BREACH_LEAVE_TIME, spent_ns, own->leave_ns);
	if (spent_ns >= own->limit_ns)
		return broken(trial, stroke ? TD_BREACH_STROKE_TIME : TD_BREACH_TRAVEL_TIME, spent_ns,
			      own->limit_ns);
	return true;
}

/* R12 */
static bool duty_left(const struct trial *trial)
{
	struct td_monitor_finding finding =
		td_monitor_duty_judge(&trial->axis->duty, &trial->own->duty, trial->monitor->now_ns,
				      trial->axis->way[trial->way].rises);

	if (finding.breach != TD_BREACH_NONE)
		return broken(trial, finding.breach, finding.measured_ns, finding.bound_ns);
	return true;
}

static bool not_barred(const struct trial *trial)
{
	if (td_monitor_barred(trial->monitor, trial->rules, trial->index, trial->way))
		return broken(trial, TD_BREACH_BARRED, 0, 0);
	if (trial->axis->way[trial->way].rises &&
	    td_monitor_disturbs(trial->monitor, trial->rules, trial->index))
		return broken(trial, TD_BREACH_DISTURBS, 0, 0);
	return true;
}

/* R18 */
static bool not_twisted(const struct trial *trial)
{
	if (td_monitor_twists(trial->monitor, trial->rules, trial->index, trial->way))
		return broken(trial, TD_BREACH_TWISTED, 0, 0);
	return true;
}

static bool paused(const struct trial *trial)
{
	const struct td_monitor_way *way = trial->axis->way;
	td_ns dead_ns = td_time_between(way[1 - trial->way].low_ns, trial->monitor->now_ns);
	td_ns rest_ns = td_time_between(way[trial->way].low_ns, trial->monitor->now_ns);

	if (!way[trial->way].rises)
		return true;
	if (dead_ns < trial->own->dead_ns)
		return broken(trial, TD_BREACH_REVERSED, dead_ns, trial->own->dead_ns);
	/* A way that was left for the other one and comes again has had its dead time twice. */
	if (trial->axis->last_way != 1 - trial->way && rest_ns < trial->own->rest_ns)
		return broken(trial, TD_BREACH_RESTARTED, rest_ns, trial->own->rest_ns);
	return true;
}

/* R13 */
static bool supplied(const struct trial *trial)
{
	const struct td_monitor_load *load = &trial->axis->load;

	if (!trial->axis->way[trial->way].rises)
		return true;
	if (td_monitor_overload(trial->monitor, trial->rules, trial->index))
		return broken(trial, TD_BREACH_OVERLOAD, 0, 0);
	if (load->lead_ns < load->gap_ns)
		return broken(trial, TD_BREACH_START_GAP, load->lead_ns, load->gap_ns);
	return true;
}

static bool asked_for(const struct trial *trial)
{
	const struct td_monitor_axis *axis = trial->axis;
	bool denied = axis->denied_way == trial->way && axis->denied_until_ns > trial->monitor->now_ns;

	if (td_monitor_covered(axis))
		return true;
	return broken(trial, denied ? axis->denied_as : TD_BREACH_NOT_ASKED,
		      td_time_between(axis->ended_ns, trial->monitor->now_ns), 0);
}

static bool (*const checks[])(const struct trial *) = {
	one_input, machine_ready, no_trip,    resets_left, not_locked, end_free,
	time_left, duty_left,     not_barred, not_twisted, paused,     asked_for,
};

bool td_monitor_check(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		      uint8_t way, struct td_verdict *verdict)
{
	const struct trial trial = {
		monitor, rules, &monitor->axis[axis], &rules->axis[axis], verdict, axis, way,
	};

	for (unsigned int i = 0; i < sizeof(checks) / sizeof(checks[0]); i++)
		if (!checks[i](&trial))
			return false;
	return true;
}

bool td_monitor_check_supply(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			     uint8_t way, struct td_verdict *verdict)
{
	const struct trial trial = {
		monitor, rules, &monitor->axis[axis], &rules->axis[axis], verdict, axis, way,
	};

	return supplied(&trial);
}
