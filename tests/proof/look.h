/* SPDX-License-Identifier: MIT */
/* How the proofs look at a state: short questions, answered without the functions under proof. */
#ifndef TD_PROOF_LOOK_H
#define TD_PROOF_LOOK_H

#include "core/step.h"

static inline bool held(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
}

static inline bool powered(const struct td_axis *axis, uint8_t way)
{
	return axis->state == TD_AXIS_RUN && axis->way == way;
}

static inline bool same_holder(const struct td_axis *a, const struct td_axis *b)
{
	return a->hold.session == b->hold.session && a->hold.number == b->hold.number;
}

static inline bool passed(td_ns from_ns, td_ns now_ns, td_ns span_ns)
{
	return now_ns - from_ns >= span_ns;
}

/* One of two by a condition, not by an index: the solver has an easier time with it. */
static inline td_ns of_way(const td_ns both_ns[TD_WAYS], uint8_t way)
{
	return way == 0 ? both_ns[0] : both_ns[1];
}

static inline td_ns of_other_way(const td_ns both_ns[TD_WAYS], uint8_t way)
{
	return way == 0 ? both_ns[1] : both_ns[0];
}

/* R3: every pause before this way was over at that time. */
static inline bool rested(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way, td_ns at_ns)
{
	return passed(of_way(axis->way_cut_ns, way), at_ns, rules->rest_ns) &&
	       passed(of_other_way(axis->way_cut_ns, way), at_ns, rules->dead_ns);
}

static inline bool active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->sw[sw].active;
}

static inline bool maybe_active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && (core->sw[sw].active || core->sw[sw].raw);
}

/* R8: marked as chattering. */
static inline bool chatters(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->chatter[sw].marked;
}

/* R11: this way waits for the keeper. */
static inline bool locked(const struct td_core *core, uint8_t axis, uint8_t way)
{
	return (core->locked >> (axis * TD_WAYS + way) & 1) != 0;
}

static inline bool rose(const struct td_step *step, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && (step->rose >> sw & 1) != 0;
}

/* When the front heard it; a time that is missing or lies ahead is now. */
static inline td_ns heard(const struct td_step *step)
{
	td_ns heard_ns = step->event->heard_ns;

	return heard_ns <= 0 || heard_ns > step->now_ns ? step->now_ns : heard_ns;
}

static inline bool event_is(const struct td_step *step, enum td_event_kind kind)
{
	return step->event->kind == kind;
}

static inline bool same_record(const struct td_axis *a, const struct td_axis *b)
{
	return a->last_way == b->last_way && a->unwritten == b->unwritten && a->since_ns == b->since_ns &&
	       a->cut_ns == b->cut_ns && a->way_cut_ns[0] == b->way_cut_ns[0] &&
	       a->way_cut_ns[1] == b->way_cut_ns[1];
}

/* The way counts only where one is held. */
static inline bool same_axis(const struct td_axis *a, const struct td_axis *b)
{
	return a->state == b->state && a->trip == b->trip && (!held(a) || a->way == b->way) &&
	       a->located == b->located && same_record(a, b) && a->spent_ns[0] == b->spent_ns[0] &&
	       a->spent_ns[1] == b->spent_ns[1] && same_holder(a, b) && a->hold.seq == b->hold.seq &&
	       a->hold.lease_end_ns == b->hold.lease_end_ns;
}

static inline bool same_switch(const struct td_switch *a, const struct td_switch *b)
{
	return a->raw == b->raw && a->active == b->active && a->since_ns == b->since_ns;
}

#endif
