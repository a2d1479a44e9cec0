/* SPDX-License-Identifier: MIT */
/*
 * R18: from axes and switches to the twist of the cable, and back to the drive.
 *
 * Where the steering leans is known from its own powered time (core/travel.h), or, where a spring straightens it, from
 * whether it is powered. Between its stops a steering is taken to turn the machine in proportion, which is more than
 * geometry says (the tangent of an angle grows faster than the angle). What is not known counts as doubt.
 */
#include "core/step.h"
#include "core/travel.h"

enum { PPM = 1000000, LEAN_UNKNOWN = 2 * PPM, CONTACTS = 2 };

/* While the steering moves, or stands between its stops, a deadline is not exact: look again no sooner than this. */
#define LOOK_AGAIN_NS TD_MS(1)

static bool is_counted(const struct td_rules *rules)
{
	const struct td_cable_rules *cable = &rules->cable;

	return cable->twist.source != TD_TWIST_UNLIMITED && cable->drive < TD_AXES_MAX &&
	       cable->steering < TD_AXES_MAX;
}

/* --- the steering ----------------------------------------------------------------------------------- */

static int32_t stop_of(uint8_t way)
{
	return way == 1 ? PPM : -PPM;
}

/* In the very moment of a start it has not swung yet. */
static int32_t lean_of_sprung(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns at_ns)
{
	if (axis->state == TD_AXIS_RUN && at_ns > axis->since_ns)
		return at_ns - axis->since_ns >= rules->rest_ns ? stop_of(axis->way) : LEAN_UNKNOWN;
	return td_time_between(axis->cut_ns, at_ns) >= rules->rest_ns ? 0 : LEAN_UNKNOWN;
}

static int32_t lean_of_kept(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns at_ns)
{
	int32_t position_ppm = td_travel_position_ppm(axis, rules, at_ns);

	return position_ppm < 0 ? LEAN_UNKNOWN : 2 * position_ppm - PPM;
}

/* PPM = at its left stop, -PPM = at its right one. `at_ns` is between the last step and now, before anything changes. */
static int32_t lean_at(const struct td_core *core, const struct td_rules *rules, td_ns at_ns)
{
	const struct td_axis *axis = &core->axis[rules->cable.steering];
	const struct td_axis_rules *own = &rules->axis[rules->cable.steering];
	int32_t lean =
		rules->cable.springs != 0 ? lean_of_sprung(axis, own, at_ns) : lean_of_kept(axis, own, at_ns);

	return lean == LEAN_UNKNOWN || rules->cable.left == 1 ? lean : -lean;
}

static enum td_twist_side side_of(int32_t lean)
{
	if (lean == LEAN_UNKNOWN)
		return TD_TWIST_UNKNOWN;
	if (lean == 0)
		return TD_TWIST_STRAIGHT;
	return lean > 0 ? TD_TWIST_LEFT : TD_TWIST_RIGHT;
}

/* --- counting --------------------------------------------------------------------------------------- */

/* So much of the span as if at the stop, the rest as if straight. */
static void estimate(struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way, int32_t lean,
		     td_ns span_ns)
{
	int64_t share = lean < 0 ? -lean : lean;
	td_ns leant_ns = span_ns / PPM * share + span_ns % PPM * share / PPM;

	td_twist_advance(twist, rules, way, side_of(lean), leant_ns);
	td_twist_advance(twist, rules, way, TD_TWIST_STRAIGHT, span_ns - leant_ns);
}

/* Of a sensor turns are expected where it is certain that there must be some: at a stop all the time. A spring may have
 * swung at any moment of the span. */
static bool is_known(const struct td_cable_rules *cable, int32_t before, int32_t now)
{
	if (before == LEAN_UNKNOWN || now == LEAN_UNKNOWN)
		return false;
	if (cable->twist.source == TD_TWIST_SENSOR && now != PPM && now != -PPM)
		return false;
	return before == now || (cable->twist.source == TD_TWIST_ESTIMATE && cable->springs == 0);
}

void td_cable_drive(struct td_step *step)
{
	struct td_core *core = step->core;
	const struct td_twist_rules *rules = &step->rules->cable.twist;
	td_ns from_ns = core->twist_ns;
	td_ns span_ns = td_time_between(from_ns, step->now_ns);

	core->twist_ns = step->now_ns;
	if (!is_counted(step->rules) || core->axis[step->rules->cable.drive].state != TD_AXIS_RUN)
		return;
	uint8_t way = core->axis[step->rules->cable.drive].way;
	int32_t before = lean_at(core, step->rules, from_ns);
	int32_t now = lean_at(core, step->rules, step->now_ns);

	if (is_known(&step->rules->cable, before, now))
		estimate(&core->twist, rules, way, (before + now) / 2, span_ns);
	else
		td_twist_advance(&core->twist, rules, way, TD_TWIST_UNKNOWN, span_ns);
}

void td_cable_feel(struct td_step *step)
{
	const struct td_cable_rules *cable = &step->rules->cable;
	struct td_twist *twist = &step->core->twist;
	uint32_t slips = twist->slips;
	uint8_t levels = 0;

	if (!is_counted(step->rules) || cable->twist.source != TD_TWIST_SENSOR || !step->core->levels_known)
		return;
	for (uint8_t i = 0; i < CONTACTS; i++)
		if (td_sense_active(step->core, cable->contact[i]))
			levels |= (uint8_t)(1U << i);
	td_twist_contacts(twist, levels);
	if (twist->slips != slips)
		td_report(step, TD_CAUSE_TWIST_SLIP, TD_NO_AXIS, TD_NO_WAY, cable->contact[1]);
}

/* --- deciding --------------------------------------------------------------------------------------- */

bool td_cable_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	if (!is_counted(rules) || axis != rules->cable.drive)
		return false;
	return td_twist_blocks(&core->twist, &rules->cable.twist, way,
			       side_of(lean_at(core, rules, core->now_ns)));
}

void td_cable_watch(struct td_step *step)
{
	uint8_t drive = step->rules->cable.drive;

	if (!is_counted(step->rules) || step->core->axis[drive].state != TD_AXIS_RUN)
		return;
	if (td_cable_blocks(step->core, step->rules, drive, step->core->axis[drive].way))
		td_report_cut(step, drive, TD_CAUSE_TWIST_CUT);
}

td_ns td_cable_deadline(const struct td_core *core, const struct td_rules *rules)
{
	const struct td_cable_rules *cable = &rules->cable;

	if (!is_counted(rules) || core->axis[cable->drive].state != TD_AXIS_RUN)
		return TD_NEVER;
	uint8_t way = core->axis[cable->drive].way;
	int32_t lean = lean_at(core, rules, core->now_ns);
	bool swings =
		td_axis_moving(&core->axis[cable->steering], &rules->axis[cable->steering], core->now_ns);
	td_ns left_ns = td_twist_left_ns(&core->twist, &cable->twist, way, side_of(lean));

	if (swings)
		left_ns = td_time_earlier(td_twist_left_ns(&core->twist, &cable->twist, way, TD_TWIST_LEFT),
					  td_twist_left_ns(&core->twist, &cable->twist, way, TD_TWIST_RIGHT));
	/* 0: the steering tripped after the drive was looked at */
	if (left_ns == 0 || (left_ns < LOOK_AGAIN_NS && (swings || (lean > -PPM && lean < PPM))))
		left_ns = LOOK_AGAIN_NS;
	return td_time_after(core->now_ns, left_ns);
}

/* --- by hand ---------------------------------------------------------------------------------------- */

enum td_cause td_cable_untwisted(struct td_step *step)
{
	uint8_t drive = step->rules->cable.drive;
	struct td_twist *twist = &step->core->twist;
	uint8_t contacts = twist->contacts;

	if (step->event->role != TD_ROLE_KEEPER)
		return TD_CAUSE_NOT_ALLOWED;
	if (!is_counted(step->rules))
		return TD_CAUSE_TWIST_UNCOUNTED;
	if (td_held(&step->core->axis[drive]) ||
	    td_axis_moving(&step->core->axis[drive], &step->rules->axis[drive], step->now_ns))
		return TD_CAUSE_STILL_MOVING;
	td_twist_straighten(twist);
	twist->contacts = contacts;
	td_report_deed(step, TD_CAUSE_UNTWISTED, drive);
	return TD_CAUSE_UNTWISTED;
}

struct td_twist_view td_core_view_twist(const struct td_core *core, const struct td_rules *rules)
{
	struct td_twist_view view = {.counted = is_counted(rules)};

	if (!view.counted)
		return view;
	view.net_uturn = td_twist_net_uturn(&core->twist, &rules->cable.twist);
	view.doubt_uturn = td_twist_doubt_uturn(&core->twist, &rules->cable.twist);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (td_cable_blocks(core, rules, rules->cable.drive, way))
			view.blocked |= (uint8_t)(1U << way);
	return view;
}
