/* SPDX-License-Identifier: MIT */
#include "core/step.h"

static uint32_t bit(uint8_t axis, uint8_t way)
{
	return UINT32_C(1) << (axis * TD_WAYS + way);
}

bool td_lock_holds(const struct td_core *core, uint8_t axis, uint8_t way)
{
	return way < TD_WAYS && (core->locked & bit(axis, way)) != 0;
}

void td_lock_completed(struct td_core *core, uint8_t axis, uint8_t way)
{
	if (way < TD_WAYS)
		core->suspect &= ~bit(axis, way);
}

void td_lock_tripped(struct td_step *step, uint8_t axis, uint8_t way)
{
	struct td_core *core = step->core;

	if (way >= TD_WAYS)
		return;
	if ((core->suspect & bit(axis, way)) != 0) {
		core->locked |= bit(axis, way);
		td_report(step, TD_CAUSE_LOCK_MADE, axis, way, TD_NO_SWITCH);
	}
	core->suspect |= bit(axis, way);
}

void td_lock_clear(struct td_core *core, uint8_t axis)
{
	/* A way that is suspect but not locked stays suspect: nobody has seen it complete a motion yet. */
	uint32_t locked = core->locked & (bit(axis, 0) | bit(axis, 1));

	core->locked &= ~locked;
	core->suspect &= ~locked;
}

void td_lock_kept(struct td_step *step)
{
	const struct td_event *event = step->event;
	struct td_core *core = step->core;

	step->result->answer = TD_CAUSE_BAD_REQUEST;
	if (event->axis >= step->rules->axes || event->axis >= TD_AXES_MAX || event->way >= TD_WAYS)
		return;
	step->result->answer = TD_CAUSE_LOCK_KEPT;
	if (td_lock_holds(core, event->axis, event->way))
		return;
	td_report(step, TD_CAUSE_LOCK_KEPT, event->axis, event->way, TD_NO_SWITCH);
	core->locked |= bit(event->axis, event->way);
	if (core->axis[event->axis].way == event->way)
		td_report_cut(step, event->axis, TD_CAUSE_WAY_LOCKED);
}
