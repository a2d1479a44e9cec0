/* SPDX-License-Identifier: MIT */
/*
 * R18: where the steering can have stood, as seen from outside.
 *
 * One that a spring straightens stands where its power says. One that stays where it was left is known from its
 * powered time (monitor_power.c); where it has end switches, of whose trips nobody can be certain, it may stand anywhere.
 */
#include "core/monitor_parts.h"

enum { PPM = 1000000 };

static const struct td_monitor_lean nowhere = {.unknown = true};
static const struct td_monitor_lean anywhere = {true, true, -PPM, PPM};

static struct td_monitor_lean exactly(int32_t lean_ppm)
{
	return (struct td_monitor_lean){.known = true, .least_ppm = lean_ppm, .most_ppm = lean_ppm};
}

static bool is_counted(const struct td_rules *rules)
{
	const struct td_cable_rules *cable = &rules->cable;

	return cable->twist.source != TD_TWIST_UNLIMITED && cable->drive < td_monitor_axes(rules) &&
	       cable->steering < td_monitor_axes(rules);
}

/* --- the steering ---------------------------------------------------------------------------------- */

/* When it was powered it has not swung yet; a rest time later it is at its stop, or straight again. */
static struct td_monitor_lean lean_of_sprung(const struct td_monitor_axis *axis, td_ns rest_ns, td_ns at_ns)
{
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (axis->way[way].on && at_ns > axis->way[way].rose_ns)
			return at_ns - axis->way[way].rose_ns >= rest_ns ? exactly(way == 1 ? PPM : -PPM)
									 : nowhere;
	return td_time_between(axis->cut_ns, at_ns) >= rest_ns ? exactly(0) : nowhere;
}

/* 0 ... a reach, as -PPM ... PPM. */
static int32_t lean_of(td_ns spent_ns, td_ns reach_ns)
{
	return spent_ns >= reach_ns ? PPM : (int32_t)(spent_ns * PPM / reach_ns) * 2 - PPM;
}

static struct td_monitor_lean lean_of_kept(const struct td_monitor *monitor, const struct td_rules *rules,
					   td_ns at_ns)
{
	uint8_t steering = rules->cable.steering;
	const struct td_way_rules *own = rules->axis[steering].way;
	const struct td_monitor_axis *axis = &monitor->axis[steering];

	if (own[0].end_switch != TD_NO_SWITCH || own[1].end_switch != TD_NO_SWITCH ||
	    own[1].reach_ns < TD_REACH_MIN_NS || own[1].reach_ns > TD_REACH_MAX_NS)
		return anywhere;
	if (axis->lost)
		return nowhere;
	struct td_monitor_spent spent = td_monitor_spent_range(monitor, rules, steering, 1, at_ns);

	return (struct td_monitor_lean){
		.known = true,
		.unknown = !axis->located,
		.least_ppm = lean_of(spent.least_ns, own[1].reach_ns),
		.most_ppm = lean_of(spent.most_ns, own[1].reach_ns),
	};
}

static struct td_monitor_lean lean_at(const struct td_monitor *monitor, const struct td_rules *rules,
				      td_ns at_ns)
{
	uint8_t steering = rules->cable.steering;
	struct td_monitor_lean lean =
		rules->cable.springs != 0
			? lean_of_sprung(&monitor->axis[steering], rules->axis[steering].rest_ns, at_ns)
			: lean_of_kept(monitor, rules, at_ns);

	if (rules->cable.left == 1)
		return lean;
	return (struct td_monitor_lean){lean.known, lean.unknown, -lean.most_ppm, -lean.least_ppm};
}

/* On average between two moments; a spring may have swung at any moment between. */
static struct td_monitor_lean between(struct td_monitor_lean before, struct td_monitor_lean now, bool springs)
{
	if (springs && before.least_ppm != now.least_ppm)
		return nowhere;
	return (struct td_monitor_lean){
		.known = before.known && now.known,
		.unknown = before.unknown || now.unknown,
		.least_ppm = (before.least_ppm + now.least_ppm) / 2,
		.most_ppm = (before.most_ppm + now.most_ppm) / 2,
	};
}

/* --- what the monitor calls ------------------------------------------------------------------------ */

void td_monitor_cable_drive(struct td_monitor *monitor, const struct td_rules *rules)
{
	td_ns from_ns = monitor->twist.counted_ns;

	monitor->twist.counted_ns = monitor->now_ns;
	if (!is_counted(rules) || from_ns == monitor->now_ns)
		return;
	const struct td_monitor_way *way = monitor->axis[rules->cable.drive].way;

	if (way[0].on == way[1].on)
		return;
	td_monitor_twist_driven(&monitor->twist, &rules->cable.twist, way[1].on ? 1 : 0,
				between(lean_at(monitor, rules, from_ns),
					lean_at(monitor, rules, monitor->now_ns), rules->cable.springs != 0),
				td_time_between(from_ns, monitor->now_ns));
}

void td_monitor_cable_feel(struct td_monitor *monitor, const struct td_rules *rules)
{
	const struct td_cable_rules *cable = &rules->cable;

	if (monitor->known && cable->twist.source == TD_TWIST_SENSOR)
		td_monitor_twist_felt(&monitor->twist, td_monitor_at(monitor, cable->contact[0]),
				      td_monitor_at(monitor, cable->contact[1]));
}

void td_monitor_untwisted(struct td_monitor *monitor, const struct td_rules *rules,
			  const struct td_event *event)
{
	if (event->role != TD_ROLE_KEEPER || !is_counted(rules) ||
	    td_monitor_moves(monitor, rules, rules->cable.drive))
		return;
	struct td_monitor_axis *drive = &monitor->axis[rules->cable.drive];
	bool certain = !td_monitor_claimed(drive);

	td_monitor_twist_straight(&monitor->twist, certain);
	drive->doubt_ns = monitor->now_ns; /* if it was believed, requests are overtaken, too */
	if (certain)
		td_monitor_overtake(drive, monitor->now_ns);
}

bool td_monitor_twists(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		       uint8_t way)
{
	return is_counted(rules) && axis == rules->cable.drive &&
	       td_monitor_twist_beyond(&monitor->twist, &rules->cable.twist, way,
				       lean_at(monitor, rules, monitor->now_ns));
}
