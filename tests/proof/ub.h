/* SPDX-License-Identifier: MIT */
/* What the harnesses of undefined behaviour share (tests/proof/ub). */
#ifndef TD_PROOF_UB_H
#define TD_PROOF_UB_H

#include "core/core.h"
#include "tests/proof/proof.h"

/* The end of a harness. This claim has to fail: where it cannot, the assumptions leave nothing to prove. */
#define REACHED() __CPROVER_assert(false, "the end is reached")

uint64_t nondet_long(void);
int nondet_int(void);
struct td_axis_rules nondet_axis_rules(void);

/* No short cuts in these sums: every branch would double what the solver looks at. */

/* What the core needs of an axis, to be free of undefined behaviour: what is held has a way, and times are times. */
static inline bool ub_axis_ok(const struct td_axis *axis)
{
	bool held = axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;

	return (!held | (axis->way < TD_WAYS)) & (axis->since_ns >= 0) & (axis->spent_ns[0] >= 0) & (axis->spent_ns[1] >= 0);
}

static inline bool ub_core_ok(const struct td_core *core)
{
	bool ok = core->now_ns >= 0;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		ok &= ub_axis_ok(&core->axis[axis]);
	return ok;
}

/* What it needs of the rules: much less than td_rules_check() lets pass. */
static inline bool ub_axis_rules_ok(const struct td_axis_rules *axis)
{
	return (axis->way[0].limit_ns >= 0) & (axis->way[1].limit_ns >= 0) & (axis->way[0].reach_ns >= 0) &
	       (axis->way[1].reach_ns >= 0);
}

static inline bool ub_rules_ok(const struct td_rules *rules)
{
	bool ok = rules->axes >= 1 && rules->axes <= TD_AXES_MAX && rules->switches <= TD_SWITCHES_MAX;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		ok &= axis >= rules->axes || ub_axis_rules_ok(&rules->axis[axis]);
	return ok;
}

#endif
