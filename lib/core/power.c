/* SPDX-License-Identifier: MIT */
#include "core/step.h"

static bool is_powered(const struct td_axis *axis)
{
	return td_axis_outputs(axis) != 0;
}

static void start(struct td_step *step, uint8_t axis)
{
	struct td_core *core = step->core;

	core->duty_cut_ns[axis] = td_duty_cut(&core->duty[axis], &step->rules->axis[axis].duty).at_ns;
	td_supply_started(&core->supply, &step->rules->supply, axis, step->now_ns);
}

static void tell(struct td_step *step, uint8_t axis, bool before)
{
	struct td_core *core = step->core;
	bool now = is_powered(&core->axis[axis]);

	td_wear_power(&core->wear[axis], now ? core->axis[axis].way : TD_NO_WAY, step->now_ns);
	if (now != before) {
		td_duty_power(&core->duty[axis], &step->rules->axis[axis].duty, now, step->now_ns);
		if (now)
			start(step, axis);
	}
	if (!now && (before || core->axis[axis].state != TD_AXIS_WAIT))
		td_supply_stopped(&core->supply, axis);
}

enum td_axis_action td_power_apply(struct td_step *step, uint8_t axis, const struct td_axis_input *input)
{
	bool before = is_powered(&step->core->axis[axis]);
	enum td_axis_action action = td_axis_apply(&step->core->axis[axis], &step->rules->axis[axis], input);

	tell(step, axis, before);
	return action;
}

enum td_cause td_power_duty_refusal(const struct td_step *step, uint8_t axis)
{
	const struct td_duty_rules *rules = &step->rules->axis[axis].duty;

	if (is_powered(&step->core->axis[axis]))
		return TD_CAUSE_NONE; /* it will rest first, and be asked again */
	if (td_duty_may_start(&step->core->duty[axis], rules, step->now_ns).limit == TD_DUTY_FREE)
		return TD_CAUSE_NONE;
	return TD_CAUSE_DUTY_SPENT;
}

bool td_power_duty_spent(const struct td_step *step, uint8_t axis)
{
	return step->now_ns >= step->core->duty_cut_ns[axis];
}

/* It may still turn the other way: no longer than its rest beyond the dead time. */
static bool is_reversal(const struct td_step *step, uint8_t axis)
{
	const struct td_axis *self = &step->core->axis[axis];
	const struct td_axis_rules *rules = &step->rules->axis[axis];
	td_ns turns_until_ns = td_time_after(td_time_after(self->cut_ns, rules->dead_ns), rules->rest_ns);

	return self->last_way < TD_WAYS && self->last_way != self->way && step->now_ns < turns_until_ns;
}

bool td_power_supply_grants(struct td_step *step, uint8_t axis)
{
	struct td_supply *supply = &step->core->supply;
	bool new_in_line = supply->axis[axis].state != TD_SUPPLY_IN_LINE;

	td_supply_ask(supply, axis, is_reversal(step, axis));
	if (td_supply_answer(supply, &step->rules->supply, axis, step->now_ns) == TD_SUPPLY_START)
		return true;
	if (new_in_line)
		td_report(step, TD_CAUSE_SUPPLY_WAIT, axis, step->core->axis[axis].way, TD_NO_SWITCH);
	return false;
}
