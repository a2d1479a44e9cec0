/* SPDX-License-Identifier: MIT */
/*
 * The core answers any event in any state that a core can come to. Bytes from a file are another matter: a byte that is
 * neither true nor false, or a negative powered time, is nothing it was made for.
 */
#include "trace/tape_parts.h"

/* Without reading it as one. */
static bool is_bool(const bool *value)
{
	return *(const unsigned char *)value <= 1;
}

static bool is_way(uint8_t way)
{
	return way < TD_WAYS;
}

static bool bools_sane(const struct td_core *core)
{
	bool sane = is_bool(&core->armed) && is_bool(&core->levels_known);

	for (int i = 0; i < TD_SWITCHES_MAX; i++)
		sane = sane && is_bool(&core->sw[i].raw) && is_bool(&core->sw[i].active) &&
		       is_bool(&core->chatter[i].marked);
	for (int i = 0; i < TD_AXES_MAX; i++)
		sane = sane && is_bool(&core->axis[i].located) && is_bool(&core->axis[i].unwritten) &&
		       is_bool(&core->pace[i].from_end);
	return sane;
}

static bool axis_sane(const struct td_axis *axis)
{
	bool held = axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;

	return (unsigned int)axis->state < TD_AXIS_STATES && held == is_way(axis->way) &&
	       (is_way(axis->last_way) || axis->last_way == TD_NO_WAY) &&
	       (axis->state == TD_AXIS_TRIPPED) == (axis->trip != TD_CAUSE_NONE) && axis->spent_ns[0] >= 0 &&
	       axis->spent_ns[1] >= 0 && axis->since_ns >= 0 && axis->cut_ns >= 0;
}

static bool load_sane(const struct td_core *core, int axis)
{
	const struct td_wear *wear = &core->wear[axis];
	const struct td_trend *trend = core->pace[axis].trend;
	bool sane = td_duty_sane(&core->duty[axis]) && core->supply.axis[axis].state <= TD_SUPPLY_IN_LINE &&
		    core->supply.axis[axis].reversal <= 1 && wear->running <= TD_WAYS;

	for (int way = 0; way < TD_WAYS; way++)
		sane = sane && wear->powered_ns[way] >= 0 && td_trend_sane(&trend[way]);
	return sane;
}

static bool machine_sane(const struct td_core *core)
{
	bool sane = core->now_ns >= 0 && core->now_ns < TD_NEVER &&
		    core->resets.next < TD_VISITOR_RESETS_MAX &&
		    (core->latch & ~(TD_LATCH_ASKED | TD_LATCH_INPUT | TD_LATCH_KEPT)) == 0 &&
		    (core->levels_known || !core->armed);

	for (int i = 0; i < TD_SWITCHES_MAX; i++)
		sane = sane && core->chatter[i].next <= TD_CHATTER_CHANGES_MAX &&
		       core->chatter[i].count <= TD_CHATTER_CHANGES_MAX;
	return sane;
}

bool td_tape_core_sane(const struct td_core *core)
{
	bool sane = bools_sane(core) && machine_sane(core);

	for (int i = 0; i < TD_AXES_MAX && sane; i++)
		sane = axis_sane(&core->axis[i]) && load_sane(core, i);
	return sane;
}
