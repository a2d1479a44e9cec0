/* SPDX-License-Identifier: MIT */
#include "core/step.h"
#include "core/travel.h"

/* One axis in one step, for short. */
struct watched {
	struct td_step *step;
	struct td_axis *axis;
	const struct td_axis_rules *rules;
	uint8_t index;
};

static uint8_t end_switch(const struct watched *self, uint8_t way)
{
	return self->rules->way[way].end_switch;
}

static td_ns spent_ns(const struct watched *self, uint8_t way)
{
	return td_travel_spent(self->axis, self->rules, way, self->step->now_ns);
}

static bool is_at(const struct watched *self, uint8_t way)
{
	return td_sense_active(self->step->core, end_switch(self, way));
}

/* Of an axis that runs: in this way. */
static bool runs(const struct watched *self, uint8_t way)
{
	return self->axis->way == way;
}

/* It was cut so lately that it may still roll the way it went before. */
static bool may_coast(const struct watched *self, uint8_t way)
{
	bool lately = self->step->now_ns < td_time_after(self->axis->cut_ns, self->rules->rest_ns);

	return lately && (self->axis->last_way == way || self->axis->last_way >= TD_WAYS);
}

static bool too_early(const struct watched *self, uint8_t way)
{
	return self->axis->located && spent_ns(self, way) < self->rules->way[way].early_ns;
}

/* Driving away from an end whose switch flickers is not driving into the wrong end. */
static bool still_leaving(const struct watched *self, uint8_t end)
{
	uint8_t away = (uint8_t)(1 - end);

	return self->axis->located && spent_ns(self, away) < self->rules->way[away].leave_ns;
}

static void end_while_off(struct watched *self, uint8_t way)
{
	if (!too_early(self, way)) {
		td_travel_at_end(self->axis, self->rules, way);
	} else if (may_coast(self, way)) {
		td_report_trip(self->step, self->index, TD_CAUSE_END_TOO_EARLY);
	} else {
		td_report(self->step, TD_CAUSE_END_UNEXPECTED, self->index, way, end_switch(self, way));
		td_travel_forget(self->axis);
	}
}

/* R8 and the place an end gives. The cut itself (R2) follows from the level, not from this edge. */
static void end_became_active(struct watched *self, uint8_t way)
{
	if (self->axis->state == TD_AXIS_TRIPPED)
		return;
	if (self->axis->state != TD_AXIS_RUN)
		end_while_off(self, way);
	else if (runs(self, way) && too_early(self, way))
		td_report_trip(self->step, self->index, TD_CAUSE_END_TOO_EARLY);
	else if (runs(self, way))
		return;
	else if (may_coast(self, way) || still_leaving(self, way))
		td_travel_at_end(self->axis, self->rules, way);
	else
		td_report_trip(self->step, self->index, TD_CAUSE_WRONG_END);
}

static void watch_edges(struct watched *self)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t sw = end_switch(self, way);

		if (sw < TD_SWITCHES_MAX && (self->step->rose >> sw & 1) != 0)
			end_became_active(self, way);
	}
}

bool td_watch_leave_over(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_axis_rules *self = &rules->axis[axis];

	return td_sense_active(core, self->way[1 - way].end_switch) &&
	       td_travel_spent(&core->axis[axis], self, way, core->now_ns) >= self->way[way].leave_ns;
}

/* R2, R4, R5, R6, R12 of an axis that runs. */
static void watch_run(struct watched *self)
{
	uint8_t way = self->axis->way;

	if (self->axis->state != TD_AXIS_RUN || way >= TD_WAYS)
		return;
	bool has_end = end_switch(self, way) != TD_NO_SWITCH;

	if (is_at(self, way)) {
		td_pace_arrived(self->step, self->index);
		td_report_cut(self->step, self->index, TD_CAUSE_END_REACHED);
		td_travel_at_end(self->axis, self->rules, way);
	} else if (td_watch_leave_over(self->step->core, self->step->rules, self->index, way)) {
		td_report_trip(self->step, self->index, TD_CAUSE_LEAVE_LIMIT);
	} else if (spent_ns(self, way) >= self->rules->way[way].limit_ns && has_end) {
		td_report_trip(self->step, self->index, TD_CAUSE_TRAVEL_LIMIT);
	} else if (spent_ns(self, way) >= self->rules->way[way].limit_ns) {
		td_report_cut(self->step, self->index, TD_CAUSE_HOLD_LIMIT);
		td_travel_at_end(self->axis, self->rules, way);
	} else if (td_power_duty_spent(self->step, self->index)) {
		td_report_cut(self->step, self->index, TD_CAUSE_DUTY_CUT);
	}
}

/* R7, R10, R14, R17: what ends any hold, powered or waiting. */
static void watch_hold(struct watched *self)
{
	const struct td_core *core = self->step->core;

	if (!td_held(self->axis))
		return;
	if (core->latch != 0)
		td_report_cut(self->step, self->index, TD_CAUSE_LATCH_CUT);
	else if (!core->armed)
		td_report_cut(self->step, self->index, TD_CAUSE_DISARMED_CUT);
	else if (self->step->now_ns >= self->axis->hold.lease_end_ns)
		td_report_cut(self->step, self->index, TD_CAUSE_LEASE_OUT);
	else if (td_bar_blocks(core, self->step->rules, self->index, self->axis->way))
		td_report_cut(self->step, self->index, TD_CAUSE_BARRED);
}

bool td_watch_both_ends(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis_rules *self = &rules->axis[axis];

	return td_sense_active(core, self->way[0].end_switch) &&
	       td_sense_active(core, self->way[1].end_switch);
}

static bool an_end_chatters(const struct watched *self)
{
	return td_sense_chatters(self->step->core, end_switch(self, 0)) ||
	       td_sense_chatters(self->step->core, end_switch(self, 1));
}

void td_watch(struct td_step *step, uint8_t axis)
{
	struct watched self = {step, &step->core->axis[axis], &step->rules->axis[axis], axis};

	if (td_watch_both_ends(step->core, step->rules, axis))
		td_report_trip(step, axis, TD_CAUSE_BOTH_ENDS);
	if (an_end_chatters(&self))
		td_report_trip(step, axis, TD_CAUSE_CHATTER);
	watch_edges(&self);
	watch_run(&self);
	watch_hold(&self);
}

static td_ns run_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];
	const struct td_way_rules *way = &own->way[self->way];
	td_ns deadline_ns = td_travel_deadline(self, way->limit_ns);

	if (td_sense_active(core, own->way[1 - self->way].end_switch))
		deadline_ns = td_time_earlier(deadline_ns, td_travel_deadline(self, way->leave_ns));
	deadline_ns = td_time_earlier(deadline_ns, core->duty_cut_ns[axis]);
	return td_time_earlier(deadline_ns, self->hold.lease_end_ns);
}

static td_ns wait_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];
	td_ns due_ns = td_axis_earliest(self, &rules->axis[axis], self->way);

	if (core->now_ns >= due_ns) /* it stands in the line of the supply */
		due_ns = td_supply_deadline(&core->supply, &rules->supply, core->now_ns);
	return td_time_earlier(due_ns, self->hold.lease_end_ns);
}

td_ns td_watch_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];

	if (self->state == TD_AXIS_RUN && self->way < TD_WAYS)
		return run_deadline(core, rules, axis);
	if (self->state == TD_AXIS_WAIT)
		return wait_deadline(core, rules, axis);
	if (self->state == TD_AXIS_COAST)
		return td_time_after(self->cut_ns, rules->axis[axis].rest_ns);
	return TD_NEVER;
}
