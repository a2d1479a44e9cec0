/* SPDX-License-Identifier: MIT */
#include "core/record.h"

static void take_axis(const struct td_core *core, const struct td_axis_rules *rules, uint8_t axis,
		      td_ns now_ns, struct td_keep_axis *kept)
{
	const struct td_wear *wear = &core->wear[axis];

	kept->duty = core->duty[axis];
	td_duty_power(&kept->duty, &rules->duty, false, now_ns);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		kept->powered_ns[way] = td_wear_powered_ns(wear, way, now_ns);
		kept->starts[way] = wear->starts[way];
		kept->trend[way] = *td_core_trend(core, axis, way);
	}
}

bool td_record_drove(const struct td_core *core, const struct td_rules *rules, td_ns now_ns)
{
	if (rules->cable.drive >= TD_AXES_MAX)
		return false;
	const struct td_axis *axis = &core->axis[rules->cable.drive];

	return td_axis_outputs(axis) != 0 ||
	       (axis->last_way < TD_WAYS && td_time_between(axis->cut_ns, now_ns) < TD_RECORD_EVERY_NS);
}

/* The turns are those of the last step: what the drive did since is within the charge. */
static struct td_twist take_twist(const struct td_core *core, const struct td_rules *rules, bool closed,
				  td_ns now_ns)
{
	struct td_twist twist = core->twist;

	if (!closed)
		td_twist_unseen(&twist, &rules->cable.twist,
				td_record_drove(core, rules, now_ns) ? TD_RECORD_CHARGE_NS
								     : TD_RECORD_LAG_NS);
	return twist;
}

void td_record_take(const struct td_core *core, const struct td_rules *rules, bool closed, td_ns now_ns,
		    struct td_keep *keep)
{
	td_keep_init(keep, now_ns);
	keep->latched = core->latch != 0;
	keep->closed = closed;
	keep->locked = td_core_locked(core);
	keep->twist = take_twist(core, rules, closed, now_ns);
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++)
		take_axis(core, &rules->axis[axis], axis, now_ns, &keep->axis[axis]);
}

/* Everything happened that much earlier, and the motor was powered since. */
static void charge(struct td_duty *duty, const struct td_duty_rules *rules, td_ns taken_ns)
{
	td_duty_shift(duty, -TD_RECORD_CHARGE_NS);
	td_duty_power(duty, rules, true, taken_ns - TD_RECORD_CHARGE_NS);
	td_duty_power(duty, rules, false, taken_ns);
}

void td_record_restore(struct td_core *core, const struct td_rules *rules, const struct td_keep *keep,
		       td_ns taken_ns)
{
	core->twist = keep->twist;
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++) {
		const struct td_keep_axis *kept = &keep->axis[axis];

		core->duty[axis] = kept->duty;
		if (keep->closed == 0)
			charge(&core->duty[axis], &rules->axis[axis].duty, taken_ns);
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			core->wear[axis].powered_ns[way] = kept->powered_ns[way];
			core->wear[axis].starts[way] = kept->starts[way];
			td_core_set_trend(core, axis, way, &kept->trend[way]);
		}
	}
}
