/* SPDX-License-Identifier: MIT */
/* Where the induction begins: after td_core_init() the invariant holds, nothing is on and nothing is armed. */
#include "tests/proof/invariant.h"
#include "tests/proof/start.h"

int main(void)
{
	const struct td_rules rules = proof_any_rules(nondet_word());
	struct td_core core = nondet_core();
	td_ns now_ns = nondet_ns();

	ASSUME(now_ns <= PROOF_HORIZON_NS);
	td_core_init(&core, &rules, now_ns);
	CLAIM(proof_bools(&core) && proof_invariant(&core, &rules), "the invariant holds at the start");
	CLAIM(!core.armed && !core.levels_known, "R14: nothing is armed at the start");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		CLAIM(td_axis_outputs(&core.axis[axis]) == 0, "R14: everything is off at the start");
	return 0;
}
