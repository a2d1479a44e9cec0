/* SPDX-License-Identifier: MIT */
/* How the claims look at a state: short questions, answered without the functions under proof. */
#ifndef TD_PROOF_LOOK_H
#define TD_PROOF_LOOK_H

#include "tests/proof/proof.h"

static inline const struct td_axis *was(const struct proof_turn *turn)
{
	return &turn->before->axis[turn->axis];
}

static inline const struct td_axis *is(const struct proof_turn *turn)
{
	return &turn->after->axis[turn->axis];
}

static inline const struct td_axis_rules *rules_of(const struct proof_turn *turn)
{
	return &turn->rules->axis[turn->axis];
}

static inline td_ns now(const struct proof_turn *turn)
{
	return turn->after->now_ns;
}

/* The input of this way was high before the step. */
static inline bool on_before(const struct proof_turn *turn, uint8_t way)
{
	return was(turn)->state == TD_AXIS_RUN && was(turn)->way == way;
}

/* It is high after the step: what the lines get, not what the state says. */
static inline bool on_after(const struct proof_turn *turn, uint8_t way)
{
	return (turn->result->outputs >> (turn->axis * TD_WAYS + way) & 1) != 0;
}

static inline bool rises(const struct proof_turn *turn, uint8_t way)
{
	return !on_before(turn, way) && on_after(turn, way);
}

static inline bool any_on_after(const struct proof_turn *turn)
{
	return on_after(turn, 0) || on_after(turn, 1);
}

static inline bool any_rises(const struct proof_turn *turn)
{
	return rises(turn, 0) || rises(turn, 1);
}

static inline bool holds(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
}

static inline bool same_hold(const struct td_axis *a, const struct td_axis *b)
{
	return a->hold.session == b->hold.session && a->hold.number == b->hold.number;
}

static inline bool seen_active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->sw[sw].active;
}

static inline bool seen_raw(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->sw[sw].raw;
}

static inline bool event_is(const struct proof_turn *turn, enum td_event_kind kind)
{
	return turn->event->kind == kind;
}

/* Only time or levels came: nothing was asked. */
static inline bool nothing_asked(const struct proof_turn *turn)
{
	return event_is(turn, TD_EVENT_TIME) || event_is(turn, TD_EVENT_LEVELS);
}

/* When the front heard it; a time that is missing or lies ahead is now. */
static inline td_ns heard(const struct proof_turn *turn)
{
	td_ns heard_ns = turn->event->heard_ns;

	return heard_ns <= 0 || heard_ns > now(turn) ? now(turn) : heard_ns;
}

/* The event names this axis, or all. */
static inline bool for_this_or_all(const struct proof_turn *turn)
{
	return turn->event->axis == turn->axis || turn->event->axis == TD_ALL_AXES;
}

#endif
