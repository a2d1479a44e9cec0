/* SPDX-License-Identifier: MIT */
#include <stddef.h>

#include "core/step.h"

void td_pace_started(struct td_step *step, uint8_t axis)
{
	const struct td_axis *self = &step->core->axis[axis];
	const struct td_way_rules *way = step->rules->axis[axis].way;

	step->core->pace[axis].from_end = td_sense_active(step->core, way[1 - self->way].end_switch);
}

void td_pace_arrived(struct td_step *step, uint8_t axis)
{
	struct td_pace *pace = &step->core->pace[axis];
	const struct td_axis *self = &step->core->axis[axis];

	if (!pace->from_end)
		return;
	switch (td_trend_travel(&pace->trend[self->way], &step->rules->axis[axis].way[self->way].trend,
				td_time_between(self->since_ns, step->now_ns))) {
	case TD_TREND_SLOWER: td_report(step, TD_CAUSE_WAY_SLOWER, axis, self->way, TD_NO_SWITCH); break;
	case TD_TREND_RECOVERED: td_report(step, TD_CAUSE_WAY_STEADY, axis, self->way, TD_NO_SWITCH); break;
	case TD_TREND_NOTHING:
	case TD_TREND_LEARNED:
	default: break;
	}
}

const struct td_trend *td_core_trend(const struct td_core *core, uint8_t axis, uint8_t way)
{
	return axis < TD_AXES_MAX && way < TD_WAYS ? &core->pace[axis].trend[way] : NULL;
}

void td_core_set_trend(struct td_core *core, uint8_t axis, uint8_t way, const struct td_trend *trend)
{
	if (axis >= TD_AXES_MAX || way >= TD_WAYS)
		return;
	if (td_trend_sane(trend))
		core->pace[axis].trend[way] = *trend;
	else
		td_trend_init(&core->pace[axis].trend[way]);
}
