/* SPDX-License-Identifier: MIT */
/* Any bytes as rules; what passes is what ub_rules_ok() of ub.h says. */
#include "tests/proof/ub.h"

int main(void)
{
	const struct td_rules rules = nondet_rules();

	CLAIM(td_rules_check(&rules).fault != TD_RULES_OK || ub_rules_ok(&rules), "what passes is in range");
	td_rules_any_duty();
	td_rules_any_cable();
	td_rules_any_supply(nondet_byte());
	REACHED();
	return 0;
}
