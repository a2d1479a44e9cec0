/* SPDX-License-Identifier: MIT */
#include "core/core.h"

#include <string.h>

#include "core/step.h"
#include "core/travel.h"

static uint8_t axes_of(const struct td_rules *rules)
{
	return rules->axes < TD_AXES_MAX ? rules->axes : (uint8_t)TD_AXES_MAX;
}

void td_core_init(struct td_core *core, const struct td_rules *rules, td_ns now_ns)
{
	(void)rules;
	memset(core, 0, sizeof(*core));
	core->now_ns = now_ns > 0 ? now_ns : 0;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		core->stop_ns[axis] = core->now_ns;
		td_axis_init(&core->axis[axis], core->now_ns);
		td_duty_init(&core->duty[axis], core->now_ns);
	}
	td_supply_init(&core->supply);
	td_twist_straighten(&core->twist);
	core->twist_ns = core->now_ns;
}

static void take_time(struct td_step *step)
{
	if (step->event->at_ns < step->core->now_ns)
		td_report(step, TD_CAUSE_CLOCK_BACK, TD_NO_AXIS, TD_NO_WAY, TD_NO_SWITCH);
	else if (step->event->at_ns < TD_NEVER)
		step->core->now_ns = step->event->at_ns;
	step->now_ns = step->core->now_ns;
}

static uint32_t outputs(const struct td_core *core, const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t axis = 0; axis < axes_of(rules); axis++)
		word |= td_axis_outputs(&core->axis[axis]) << (axis * TD_WAYS);
	return word;
}

static td_ns deadline(const struct td_core *core, const struct td_rules *rules)
{
	td_ns deadline_ns = td_sense_deadline(core, rules);

	for (uint8_t axis = 0; axis < axes_of(rules); axis++)
		deadline_ns = td_time_earlier(deadline_ns, td_watch_deadline(core, rules, axis));
	deadline_ns = td_time_earlier(deadline_ns, td_cable_deadline(core, rules));
	return deadline_ns;
}

/* A dropped request may let the next in the line of the supply start; each round drops at least one. */
static void start_what_is_due(struct td_step *step)
{
	bool again = true;

	for (uint8_t n = 0; again && n <= axes_of(step->rules); n++) { /* cover: drops run out first */
		again = false;
		for (uint8_t axis = 0; axis < axes_of(step->rules); axis++)
			again |= td_ask_due(step, axis);
	}
}

void td_core_step(struct td_core *core, const struct td_rules *rules, const struct td_event *event,
		  struct td_result *result)
{
	struct td_step step = {.core = core, .rules = rules, .event = event, .result = result};

	memset(result, 0, sizeof(*result));
	take_time(&step);
	td_cable_drive(&step);
	td_sense(&step);
	td_cable_feel(&step);
	td_order(&step);
	td_order_stop_input(&step);
	for (uint8_t axis = 0; axis < axes_of(rules); axis++)
		td_watch(&step, axis);
	td_ask(&step);
	td_cable_watch(&step);
	start_what_is_due(&step);
	result->outputs = outputs(core, rules);
	result->deadline_ns = deadline(core, rules);
}

uint32_t td_core_active(const struct td_core *core, const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < rules->switches && sw < TD_SWITCHES_MAX; sw++)
		if (core->sw[sw].active)
			word |= UINT32_C(1) << sw;
	return word;
}

uint32_t td_core_locked(const struct td_core *core)
{
	return core->locked;
}

td_ns td_core_resets_free_ns(const struct td_core *core, const struct td_rules *rules)
{
	return td_quota_free_ns(&core->resets, rules->visitor_resets);
}

uint32_t td_core_chatters(const struct td_core *core, const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < rules->switches; sw++)
		if (td_sense_chatters(core, sw))
			word |= UINT32_C(1) << sw;
	return word;
}

static void view_hold(struct td_axis_view *view, const struct td_axis *axis,
		      const struct td_axis_rules *rules, td_ns now_ns)
{
	if (axis->state == TD_AXIS_COAST)
		view->wait_left_ns = td_time_between(now_ns, td_time_after(axis->cut_ns, rules->rest_ns));
	if (!td_held(axis))
		return;
	view->way = axis->way;
	view->lease_left_ns = td_time_between(now_ns, axis->hold.lease_end_ns);
	view->session = axis->hold.session;
	view->hold = axis->hold.number;
	if (axis->state == TD_AXIS_WAIT)
		view->wait_left_ns = td_time_between(now_ns, td_axis_earliest(axis, rules, axis->way));
}

static void view_trend(struct td_axis_view *view, const struct td_pace *pace)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		const struct td_trend *trend = &pace->trend[way];

		view->slower[way] = trend->warned != 0;
		if (trend->learned >= TD_TREND_LEARN)
			view->slower_ppm[way] = td_trend_slower_ppm(trend);
	}
}

void td_core_view(const struct td_core *core, const struct td_rules *rules, uint8_t axis, td_ns now_ns,
		  struct td_axis_view *view)
{
	memset(view, 0, sizeof(*view));
	view->way = TD_NO_WAY;
	view->position_ppm = -1;
	view->trip = TD_CAUSE_INTERNAL;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		view->slower_ppm[way] = TD_NO_TREND;
	if (axis >= axes_of(rules))
		return;
	const struct td_axis *self = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];

	view->state = self->state;
	view->trip = self->trip;
	view->moving = td_axis_moving(self, own, now_ns);
	view->position_ppm = td_travel_position_ppm(self, own, now_ns);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		view->at_end[way] = td_sense_active(core, own->way[way].end_switch);
		view->locked[way] = td_lock_holds(core, axis, way);
	}
	view_hold(view, self, own, now_ns);
	view_trend(view, &core->pace[axis]);
}
