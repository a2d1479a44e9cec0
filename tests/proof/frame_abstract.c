/* SPDX-License-Identifier: MIT */
/*
 * Stands in for td_power_apply() where a stage acts on axis 0: it may leave anything of this axis, and nothing of another, as
 * `frame apply` proves of the real one.
 */
#include "core/step.h"
#include "tests/proof/invariant.h"
#include "tests/proof/proof.h"

enum { ONE };

enum td_axis_action td_power_apply(struct td_step *step, uint8_t axis, const struct td_axis_input *input)
{
	struct td_core *core = step->core;

	(void)input;
	CLAIM(axis == ONE, "it is for the axis that is meant");
	core->axis[ONE] = nondet_axis();
	core->duty_cut_ns[ONE] = nondet_ns();
	core->duty[ONE].powered = nondet_bool();
	core->supply.axis[ONE].state = nondet_byte();
	ASSUME(proof_bools(core));
	return (enum td_axis_action)nondet_word();
}
