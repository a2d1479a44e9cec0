/* SPDX-License-Identifier: MIT */
#include "tests/proof/axis_model.h"

#include "core/travel.h"

static enum td_axis_action end_hold(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns,
				    enum td_axis_state next)
{
	enum td_axis_action action = TD_DO_DROP;

	if (axis->state == TD_AXIS_RUN) {
		td_travel_commit(axis, rules, now_ns);
		axis->last_way = axis->way;
		axis->cut_ns = now_ns;
		if (axis->way < TD_WAYS)
			axis->way_cut_ns[axis->way] = now_ns;
		axis->unwritten = true;
		action = TD_DO_CUT;
	}
	axis->state = next;
	axis->hold.lease_end_ns = 0;
	return action;
}

static enum td_axis_action trip(struct td_axis *axis, const struct td_axis_rules *rules,
				const struct td_axis_input *input)
{
	if (axis->state == TD_AXIS_TRIPPED) {
		return TD_DO_NOTHING;
	}
	end_hold(axis, rules, input->now_ns, TD_AXIS_TRIPPED);
	if (axis->trip == TD_CAUSE_NONE)
		axis->trip = input->cause == TD_CAUSE_NONE ? TD_CAUSE_INTERNAL : input->cause;
	return TD_DO_TRIP;
}

static enum td_axis_action ask(struct td_axis *axis, const struct td_axis_rules *rules,
			       const struct td_axis_input *input)
{
	bool turns = axis->state == TD_AXIS_RUN;

	if (axis->state == TD_AXIS_TRIPPED) {
		return TD_DO_NOTHING;
	}
	if (turns)
		end_hold(axis, rules, input->now_ns, TD_AXIS_WAIT);
	axis->state = TD_AXIS_WAIT;
	axis->way = input->way;
	axis->hold = input->hold;
	return turns ? TD_DO_TURN : TD_DO_QUEUE;
}

static enum td_axis_action cut(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	if (axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT)
		return end_hold(axis, rules, now_ns, TD_AXIS_COAST);
	return TD_DO_NOTHING;
}

static enum td_axis_action go(struct td_axis *axis, td_ns now_ns)
{
	axis->state = TD_AXIS_RUN;
	axis->since_ns = now_ns;
	return TD_DO_POWER;
}

static enum td_axis_action reset(struct td_axis *axis)
{
	if (axis->state != TD_AXIS_TRIPPED)
		return TD_DO_NOTHING;
	axis->state = TD_AXIS_COAST;
	axis->trip = TD_CAUSE_NONE;
	return TD_DO_CLEAR;
}

static enum td_axis_action rest_over(struct td_axis *axis)
{
	if (axis->state == TD_AXIS_COAST)
		axis->state = TD_AXIS_STILL;
	return TD_DO_NOTHING;
}

bool axis_model_possible(const struct td_axis *axis, const struct td_axis_input *input)
{
	return (unsigned int)axis->state < TD_AXIS_STATES &&
	       (axis->state != TD_AXIS_RUN || axis->way < TD_WAYS) &&
	       (input->event != TD_AXIS_ASK || input->way < TD_WAYS) && input->event < TD_AXIS_EVENTS &&
	       (input->event != TD_AXIS_GO || axis->state == TD_AXIS_WAIT);
}

enum td_axis_action axis_model_fail(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	end_hold(axis, rules, now_ns, TD_AXIS_TRIPPED);
	if (axis->trip == TD_CAUSE_NONE)
		axis->trip = TD_CAUSE_INTERNAL;
	return TD_DO_FAIL;
}

enum td_axis_action axis_model_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				     const struct td_axis_input *input)
{
	switch (input->event) {
	case TD_AXIS_ASK: return ask(axis, rules, input);
	case TD_AXIS_GO: return go(axis, input->now_ns);
	case TD_AXIS_REST_OVER: return rest_over(axis);
	case TD_AXIS_CUT: return cut(axis, rules, input->now_ns);
	case TD_AXIS_TRIP: return trip(axis, rules, input);
	case TD_AXIS_RESET: return reset(axis);
	case TD_AXIS_EVENTS:
	default: return TD_DO_NOTHING;
	}
}
