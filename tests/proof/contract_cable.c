/* SPDX-License-Identifier: MIT */
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

void count_gives(const struct td_step *step, const struct td_core *old)
{
	GIVES(proof_bools(step->core), "a bool stays one");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		gives_same_axis(step, axis, old);
	gives_same_switches(step, old);
	gives_same_machine(step, old);
}

void twist_needs(const struct td_step *step)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns,
	      "the machine is as it must be");
	NEEDS(proof_every_axis(step->core, step->rules, proof_safe), "every axis is safe");
}

static void cut_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	GIVES(was->state == TD_AXIS_RUN && is->state == TD_AXIS_COAST, "R18: the limit cuts a drive that runs, and trips nothing");
	GIVES(is->trip == was->trip && same_holder(was, is) && was->hold.seq == is->hold.seq,
	      "R11: who held it last is not forgotten");
	GIVES_BESIDE(proof_safe(step->core, step->rules, axis), "every axis stays safe");
	gives_no_power(step, axis, old);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(locked(step->core, axis, way) == locked(old, axis, way), "R11: no lock comes or goes");
}

void twist_gives(const struct td_step *step, const struct td_core *old)
{
	GIVES(proof_bools(step->core), "a bool stays one");
	for (uint8_t axis = 0; axis < step->rules->axes && axis < TD_AXES_MAX; axis++) {
		GIVES(step->core->stop_ns[axis] == old->stop_ns[axis], "R7: a stop is not forgotten");
		if (axis != step->rules->cable.drive || same_axis(&step->core->axis[axis], &old->axis[axis]))
			gives_same_axis(step, axis, old);
		else
			cut_given(step, axis, old);
	}
	gives_same_switches(step, old);
	gives_same_machine(step, old);
}
