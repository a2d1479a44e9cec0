/* SPDX-License-Identifier: MIT */
/*
 * Stands in for the stages of a step: each becomes its contract. What it needs is proven where td_core_step() calls
 * it; then any state at all follows of which what it gives is true.
 */
#include "core/step.h"
#include "tests/proof/contract.h"
#include "tests/proof/proof.h"

/* Field by field: what duty and supply remember beside is large, and nobody here looks at it. */
static void copy(struct td_core *to, const struct td_core *from)
{
	to->now_ns = from->now_ns;
	to->armed = from->armed;
	to->levels_known = from->levels_known;
	to->latch = from->latch;
	to->locked = from->locked;
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++) {
		to->sw[sw] = from->sw[sw];
		to->chatter[sw].marked = from->chatter[sw].marked;
	}
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		to->stop_ns[axis] = from->stop_ns[axis];
		to->axis[axis] = from->axis[axis];
		to->duty[axis].powered = from->duty[axis].powered;
		to->supply.axis[axis].state = from->supply.axis[axis].state;
	}
}

static void make_any(struct td_core *core)
{
	const struct td_core any = nondet_core();

	copy(core, &any);
}

void td_sense(struct td_step *step)
{
	struct td_core old;

	sense_needs(step);
	copy(&old, step->core);
	make_any(step->core);
	step->rose = nondet_word();
	sense_gives(step, &old);
}

/* Both stages of orders: the second one follows at once, and does nothing more here. */
void td_order(struct td_step *step)
{
	struct td_core old;

	order_needs(step);
	copy(&old, step->core);
	make_any(step->core);
	order_gives(step, &old);
}

void td_order_stop_input(struct td_step *step)
{
	(void)step;
}

void td_watch(struct td_step *step, uint8_t axis)
{
	struct td_core old;

	watch_needs(step, axis);
	copy(&old, step->core);
	make_any(step->core);
	watch_gives(step, axis, &old);
}

void td_ask(struct td_step *step)
{
	struct td_core old;

	ask_needs(step);
	copy(&old, step->core);
	make_any(step->core);
	ask_gives(step, &old);
}

bool td_ask_due(struct td_step *step, uint8_t axis)
{
	struct td_core old;

	due_needs(step, axis);
	copy(&old, step->core);
	make_any(step->core);
	due_gives(step, axis, &old);
	return nondet_bool();
}

td_ns td_sense_deadline(const struct td_core *core, const struct td_rules *rules)
{
	(void)core;
	(void)rules;
	return nondet_ns();
}

td_ns td_watch_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	(void)core;
	(void)rules;
	(void)axis;
	return nondet_ns();
}

void td_report(struct td_step *step, enum td_cause cause, uint8_t axis, uint8_t way, uint8_t sw)
{
	(void)step;
	(void)cause;
	(void)axis;
	(void)way;
	(void)sw;
}
