/* SPDX-License-Identifier: MIT */
/*
 * Stands in for lib/core/bar.c where one axis is looked at: whatever the other axes of a machine do, all they
 * can do to this one is forbid, at any moment or at none. So what is proven for one axis holds in a machine of
 * many. The last answers are kept, to see that the step heeds them. prove_bars.c looks at the real ones.
 */
#include "core/step.h"
#include "tests/proof/proof.h"

struct proof_bars proof_bars = {.blocked = {true, true}, .disturbs = true};

bool td_bar_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	bool blocked = !proof_bars.quiet && nondet_bool();

	(void)core;
	(void)rules;
	(void)axis;
	if (way < TD_WAYS)
		proof_bars.blocked[way] = blocked;
	return blocked || way >= TD_WAYS;
}

bool td_bar_disturbs(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	(void)core;
	(void)rules;
	(void)axis;
	proof_bars.disturbs = !proof_bars.quiet && nondet_bool();
	return proof_bars.disturbs;
}
