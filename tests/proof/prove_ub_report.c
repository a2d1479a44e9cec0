/* SPDX-License-Identifier: MIT */
/* lib/core/report.c is within what ub_report.c says, for any rules, core and event that ub.h lets pass. */
#include "tests/proof/ub_step.h"

int main(void)
{
	uint8_t axis = ub_step_any();
	enum td_cause cause = (enum td_cause)nondet_word();

#if PROOF_CASE == 0
	td_report(&ub.step, cause, nondet_byte(), nondet_byte(), nondet_byte());
	ub_step_claim(1);
	(void)axis;
#elif PROOF_CASE == 1
	td_report_deed(&ub.step, cause, nondet_byte());
	ub_step_claim(1);
	(void)axis;
#elif PROOF_CASE == 2
	td_report_cut(&ub.step, axis, cause);
	ub_step_claim(NEWS_OF_CUT);
#else
	td_report_trip(&ub.step, axis, cause);
	ub_step_claim(NEWS_OF_TRIP);
#endif
	REACHED();
	return 0;
}
