/* SPDX-License-Identifier: MIT */
#include "tests/proof/invariant.h"

static bool past(td_ns at_ns, const struct td_core *core)
{
	return at_ns >= 0 && at_ns <= core->now_ns;
}

static bool is_bool(const bool *value)
{
	return *(const uint8_t *)value <= 1;
}

static bool active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->sw[sw].active;
}

static bool is_held(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
}

/* What this way may not do while it is powered or waited for now; R3. */
static td_ns pause_ns(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way)
{
	if (axis->last_way == way)
		return rules->rest_ns;
	if (axis->last_way < TD_WAYS || rules->dead_ns > rules->rest_ns)
		return rules->dead_ns;
	return rules->rest_ns;
}

static bool since(td_ns from_ns, td_ns now_ns, td_ns span_ns)
{
	return now_ns - from_ns >= span_ns;
}

/* A filter that is due has decided. */
static bool switch_settled(const struct td_core *core, const struct td_switch *sw,
			   const struct td_switch_rules *rules)
{
	td_ns filter_ns = sw->raw ? rules->confirm_ns : rules->clear_ns;

	return !core->levels_known || sw->raw == sw->active || !since(sw->since_ns, core->now_ns, filter_ns);
}

static bool switches_ok(const struct td_core *core, const struct td_rules *rules)
{
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++) {
		if (!past(core->sw[sw].since_ns, core))
			return false;
		if (sw < rules->switches && !switch_settled(core, &core->sw[sw], &rules->sw[sw]))
			return false;
	}
	return true;
}

static bool hold_ok(const struct td_core *core, const struct td_axis *axis)
{
	const struct td_hold *hold = &axis->hold;

	if (!is_held(axis))
		return hold->lease_end_ns == 0;
	return hold->session != 0 && hold->number != 0 && hold->lease_end_ns > core->now_ns &&
	       hold->lease_end_ns - core->now_ns <= TD_LEASE_MAX_NS && core->armed && core->latch == 0;
}

/* R2, R4, R5, R6 between two steps. */
static bool run_ok(const struct td_core *core, const struct td_axis *axis, const struct td_axis_rules *rules)
{
	const struct td_way_rules *way = &rules->way[axis->way];
	td_ns span_ns = core->now_ns - axis->since_ns;

	if (active(core, way->end_switch) || axis->since_ns < axis->cut_ns ||
	    !since(axis->cut_ns, axis->since_ns, pause_ns(axis, rules, axis->way)))
		return false;
	if (span_ns >= way->limit_ns - axis->spent_ns[axis->way])
		return false;
	return !active(core, rules->way[1 - axis->way].end_switch) ||
	       span_ns < way->leave_ns - axis->spent_ns[axis->way];
}

/* What each state says about itself. */
static bool state_ok(const struct td_core *core, const struct td_axis *axis,
		     const struct td_axis_rules *rules)
{
	if ((axis->state == TD_AXIS_TRIPPED) != (axis->trip != TD_CAUSE_NONE))
		return false;
	if (is_held(axis) && axis->way >= TD_WAYS)
		return false;
	switch (axis->state) {
	case TD_AXIS_TRIPPED: return true;
	case TD_AXIS_STILL: return since(axis->cut_ns, core->now_ns, rules->rest_ns);
	case TD_AXIS_COAST: return !since(axis->cut_ns, core->now_ns, rules->rest_ns);
	case TD_AXIS_WAIT: return !since(axis->cut_ns, core->now_ns, pause_ns(axis, rules, axis->way));
	case TD_AXIS_RUN: return run_ok(core, axis, rules);
	case TD_AXIS_STATES:
	default: return false;
	}
}

static bool axis_ok(const struct td_core *core, const struct td_axis *axis, const struct td_axis_rules *rules)
{
	bool both = active(core, rules->way[0].end_switch) && active(core, rules->way[1].end_switch);

	return past(axis->since_ns, core) && past(axis->cut_ns, core) && axis->spent_ns[0] >= 0 &&
	       axis->spent_ns[1] >= 0 && (axis->last_way < TD_WAYS || axis->last_way == TD_NO_WAY) &&
	       (!both || axis->state == TD_AXIS_TRIPPED) && hold_ok(core, axis) &&
	       state_ok(core, axis, rules);
}

static bool machine_ok(const struct td_core *core, const struct td_rules *rules)
{
	uint8_t all = TD_LATCH_ASKED | TD_LATCH_INPUT | TD_LATCH_KEPT;

	return core->now_ns >= 0 && core->now_ns <= PROOF_HORIZON_NS && (core->latch & ~all) == 0 &&
	       (core->levels_known || !core->armed) &&
	       (!active(core, rules->stop_switch) || (core->latch & TD_LATCH_INPUT) != 0);
}

bool proof_invariant(const struct td_core *core, const struct td_rules *rules)
{
	if (!machine_ok(core, rules) || !switches_ok(core, rules))
		return false;
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++)
		if (!past(core->stop_ns[axis], core) || !axis_ok(core, &core->axis[axis], &rules->axis[axis]))
			return false;
	return true;
}

bool proof_bools(const struct td_core *core)
{
	bool good = is_bool(&core->armed) && is_bool(&core->levels_known);

	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		good = good && is_bool(&core->sw[sw].raw) && is_bool(&core->sw[sw].active);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		good = good && is_bool(&core->axis[axis].located);
	return good;
}
