/* SPDX-License-Identifier: MIT */
/* Stands in for td_cable_untwisted(); the harness `stage 8` looks at the real one. */
#include "tests/proof/ub_step.h"

enum td_cause td_cable_untwisted(struct td_step *step)
{
	enum td_cause cause = (enum td_cause)nondet_byte();

	CLAIM(ub_core_ok(step->core), "the core is in order");
	if (nondet_bool())
		td_report_deed(step, cause, nondet_byte());
	ASSUME(cause != TD_CAUSE_UNTWISTED || step->rules->cable.drive < TD_AXES_MAX);
	return cause;
}
