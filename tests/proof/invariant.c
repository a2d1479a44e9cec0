/* SPDX-License-Identifier: MIT */
#include "tests/proof/invariant.h"

#include "core/travel.h"
#include "tests/proof/look.h"

static bool past(td_ns at_ns, const struct td_core *core)
{
	return at_ns >= 0 && at_ns <= core->now_ns;
}

static bool is_bool(const bool *value)
{
	return *(const uint8_t *)value <= 1;
}

/* R3: the last cut is that of the last way; the way before had its dead time. */
static bool record_ok(const struct td_core *core, const struct td_axis *axis, const struct td_axis_rules *rules)
{
	uint8_t last = axis->last_way;

	if (!past(axis->since_ns, core) || !past(axis->cut_ns, core) || !past(axis->way_cut_ns[0], core) ||
	    !past(axis->way_cut_ns[1], core))
		return false;
	if (last == TD_NO_WAY)
		return axis->way_cut_ns[0] == axis->cut_ns && axis->way_cut_ns[1] == axis->cut_ns;
	return last < TD_WAYS && of_way(axis->way_cut_ns, last) == axis->cut_ns &&
	       passed(of_other_way(axis->way_cut_ns, last), axis->cut_ns, rules->dead_ns);
}

static bool writing_ok(const struct td_axis *axis)
{
	return !axis->unwritten ||
	       (axis->last_way < TD_WAYS && axis->state != TD_AXIS_RUN && axis->state != TD_AXIS_STILL);
}

static bool hold_ok(const struct td_core *core, uint8_t index)
{
	const struct td_axis *axis = &core->axis[index];
	const struct td_hold *hold = &axis->hold;

	if (!held(axis))
		return hold->lease_end_ns == 0;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (axis->way == way && locked(core, index, way))
			return false;
	return axis->way < TD_WAYS && hold->session != 0 && hold->number != 0 && hold->lease_end_ns > 0 &&
	       hold->lease_end_ns - core->now_ns <= TD_LEASE_MAX_NS;
}

static bool state_ok(const struct td_core *core, const struct td_axis *axis, const struct td_axis_rules *rules)
{
	if ((axis->state == TD_AXIS_TRIPPED) != (axis->trip != TD_CAUSE_NONE))
		return false;
	if (axis->state == TD_AXIS_STILL)
		return passed(axis->cut_ns, core->now_ns, rules->rest_ns);
	if (axis->state == TD_AXIS_RUN) /* the second follows from the first, and saves the solver to find it */
		return rested(axis, rules, axis->way, axis->since_ns) &&
		       passed(of_other_way(axis->way_cut_ns, axis->way), core->now_ns, rules->dead_ns);
	return (unsigned int)axis->state < TD_AXIS_STATES;
}

/* R12, R13: duty and supply know what is powered, and who waits. */
static bool load_ok(const struct td_core *core, uint8_t axis)
{
	enum td_axis_state state = core->axis[axis].state;
	uint8_t supply = core->supply.axis[axis].state;

	if (core->duty[axis].powered != (state == TD_AXIS_RUN))
		return false;
	if (state == TD_AXIS_RUN)
		return supply == TD_SUPPLY_POWERED;
	return supply == TD_SUPPLY_OFF || (supply == TD_SUPPLY_IN_LINE && state == TD_AXIS_WAIT);
}

bool proof_kept(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];

	return record_ok(core, self, own) && writing_ok(self) && self->spent_ns[0] >= 0 && self->spent_ns[1] >= 0 &&
	       hold_ok(core, axis) && state_ok(core, self, own) && load_ok(core, axis) &&
	       past(core->stop_ns[axis], core);
}

bool proof_fresh(const struct td_core *core, uint8_t axis)
{
	return !core->axis[axis].unwritten || core->axis[axis].cut_ns == core->now_ns;
}

/* R2, R4, R5, R6 of an axis that runs this way. */
static bool run_ok(const struct td_core *core, const struct td_axis *axis, const struct td_axis_rules *rules,
		   uint8_t way)
{
	const struct td_way_rules *own = &rules->way[way];
	td_ns spent_ns = td_travel_spent(axis, rules, way, core->now_ns);

	return !active(core, own->end_switch) && spent_ns < own->limit_ns &&
	       (!active(core, rules->way[1 - way].end_switch) || spent_ns < own->leave_ns);
}

bool proof_safe(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];

	if (!proof_kept(core, rules, axis) || !proof_fresh(core, axis))
		return false;
	if (self->state != TD_AXIS_TRIPPED &&
	    (chatters(core, own->way[0].end_switch) || chatters(core, own->way[1].end_switch)))
		return false;
	if (self->state != TD_AXIS_TRIPPED && active(core, own->way[0].end_switch) &&
	    active(core, own->way[1].end_switch))
		return false;
	if (held(self) && !(core->armed && core->latch == 0 && self->hold.lease_end_ns > core->now_ns))
		return false;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (powered(self, way) && !run_ok(core, self, own, way))
			return false;
	return true;
}

bool proof_settled(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];

	if (!proof_safe(core, rules, axis))
		return false;
	if (self->state == TD_AXIS_COAST)
		return !passed(self->cut_ns, core->now_ns, own->rest_ns);
	return self->state != TD_AXIS_WAIT || !rested(self, own, self->way, core->now_ns) ||
	       core->supply.axis[axis].state == TD_SUPPLY_IN_LINE;
}

bool proof_machine(const struct td_core *core)
{
	uint8_t all = TD_LATCH_ASKED | TD_LATCH_INPUT | TD_LATCH_KEPT;

	return core->now_ns >= 0 && core->now_ns <= PROOF_HORIZON_NS && (core->latch & ~all) == 0 &&
	       (core->levels_known || !core->armed);
}

bool proof_input_latched(const struct td_core *core, const struct td_rules *rules)
{
	return !(active(core, rules->stop_switch) || chatters(core, rules->stop_switch)) || (core->latch & TD_LATCH_INPUT) != 0;
}

bool proof_levels_past(const struct td_core *core)
{
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		if (core->sw[sw].since_ns < 0 || core->sw[sw].since_ns > core->now_ns)
			return false;
	return true;
}

bool proof_filtered(const struct td_core *core, const struct td_rules *rules)
{
	for (uint8_t i = 0; i < TD_SWITCHES_MAX; i++) {
		const struct td_switch *sw = &core->sw[i];

		if (!past(sw->since_ns, core))
			return false;
		if (i >= rules->switches || !core->levels_known || sw->raw == sw->active)
			continue;
		if (passed(sw->since_ns, core->now_ns, sw->raw ? rules->sw[i].confirm_ns : rules->sw[i].clear_ns))
			return false;
	}
	return true;
}

bool proof_every_axis(const struct td_core *core, const struct td_rules *rules,
		      bool (*holds)(const struct td_core *core, const struct td_rules *rules, uint8_t axis))
{
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++)
		if (!holds(core, rules, axis))
			return false;
	return true;
}

bool proof_invariant(const struct td_core *core, const struct td_rules *rules)
{
	return proof_machine(core) && proof_filtered(core, rules) && proof_input_latched(core, rules) &&
	       proof_every_axis(core, rules, proof_settled);
}

bool proof_event_due(const struct td_core *core, const struct td_event *event)
{
	bool unwritten = false;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		unwritten = unwritten || core->axis[axis].unwritten;
	return event->at_ns <= PROOF_HORIZON_NS && (!unwritten || event->kind == TD_EVENT_WRITTEN);
}

bool proof_bools(const struct td_core *core)
{
	bool good = is_bool(&core->armed) && is_bool(&core->levels_known);

	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		good = good && is_bool(&core->sw[sw].raw) && is_bool(&core->sw[sw].active) &&
		       is_bool(&core->chatter[sw].marked);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		good = good && is_bool(&core->axis[axis].located) && is_bool(&core->axis[axis].unwritten);
	return good;
}
