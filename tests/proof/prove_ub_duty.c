/* SPDX-License-Identifier: MIT */
/* Any bytes as state and as rules, any times. */
#include "tests/proof/ub_duty.h"

int main(void)
{
	struct td_duty duty = nondet_duty();
	const struct td_duty_rules rules = nondet_duty_rules();

#if PROOF_CASE == 0
	td_duty_rules_ok(&rules);
	td_duty_theta(&duty, &rules, nondet_ns());
	td_duty_theta_ppm(&duty, &rules, nondet_ns());
	td_duty_shift(&duty, nondet_ns());
	td_duty_init(&duty, nondet_ns());
	td_duty_init_unknown(&duty, nondet_ns());
#elif PROOF_CASE == 1
	td_duty_power(&duty, &rules, nondet_bool(), nondet_ns());
#elif PROOF_CASE == 2
	td_duty_may_start(&duty, &rules, nondet_ns());
#else
	td_duty_cut(&duty, &rules);
	td_duty_spent_ns(&duty, (enum td_budget_span)nondet_word(), nondet_ns());
#endif
	REACHED();
	return 0;
}
