/* SPDX-License-Identifier: MIT */
/*
 * R17 with the real lib/core/bar.c, two axes, any rules and any state of the invariant: its two answers are what
 * the conditions say, read once more here. That a step heeds the answers is claimed in prove_watch.c and prove_due.c.
 */
#include "core/step.h"
#include "tests/proof/invariant.h"
#include "tests/proof/start.h"

static bool moves(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];

	return self->state == TD_AXIS_RUN || core->now_ns - self->cut_ns < rules->axis[axis].rest_ns;
}

static bool kept(const struct td_core *core, const struct td_rules *rules, uint8_t axis, const struct td_bar *bar)
{
	uint8_t other = (uint8_t)(1 - axis); /* a bar never names its own axis */

	if (bar->kind == TD_BAR_MOVING)
		return !moves(core, rules, other);

	const struct td_switch *end = &core->sw[other * TD_WAYS + bar->way];

	if (core->chatter[other * TD_WAYS + bar->way].marked)
		return false;
	if (bar->kind == TD_BAR_AT_END)
		return !end->active && !end->raw;
	return end->active && (end->raw || core->axis[axis].state == TD_AXIS_RUN);
}

static bool forbidden(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *self = &rules->axis[axis].way[way];

	for (uint8_t i = 0; i < TD_BARS_MAX; i++)
		if (i < self->bars && !kept(core, rules, axis, &self->bar[i]))
			return true;
	return false;
}

/* The other axis moves, perhaps this way, and must not while `axis` moves. */
static bool in_the_way(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	uint8_t other = (uint8_t)(1 - axis);
	const struct td_axis *self = &core->axis[other];
	uint8_t now = self->state == TD_AXIS_RUN ? self->way : self->last_way;

	if (!moves(core, rules, other))
		return false;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		for (uint8_t i = 0; i < TD_BARS_MAX; i++)
			if (now != 1 - way && i < rules->axis[other].way[way].bars &&
			    rules->axis[other].way[way].bar[i].kind == TD_BAR_MOVING)
				return true;
	return false;
}

int main(void)
{
	const struct td_rules rules = proof_any_rules(15);
	struct td_core core = nondet_core();

	ASSUME(proof_bools(&core) && proof_invariant(&core, &rules));
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		for (uint8_t way = 0; way < TD_WAYS; way++)
			CLAIM(td_bar_blocks(&core, &rules, axis, way) == forbidden(&core, &rules, axis, way),
			      "R17: a way is blocked when one of its conditions is not kept, and only then");
		CLAIM(td_bar_disturbs(&core, &rules, axis) == in_the_way(&core, &rules, axis),
		      "R17: a start disturbs when it breaks the condition of an axis that moves, and only then");
	}
	CLAIM(td_bar_blocks(&core, &rules, 0, TD_WAYS) && td_bar_blocks(&core, &rules, TD_AXES_MAX, 0),
	      "R17: what does not exist is blocked");
	return 0;
}
