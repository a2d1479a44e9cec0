/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/bar.c and the question of lib/core/cable.c: any answer, as in the harnesses `stage 8` and `stage 9`. */
#include "tests/proof/ub_step.h"

bool td_bar_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	(void)core;
	(void)rules;
	(void)axis;
	(void)way;
	return nondet_bool();
}

bool td_bar_disturbs(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	CLAIM(axis < rules->axes, "it is asked for an axis");
	return td_bar_blocks(core, rules, axis, 0);
}

bool td_cable_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	CLAIM(axis < rules->axes, "the cable is asked for an axis");
	return td_bar_blocks(core, rules, axis, way);
}
