/* SPDX-License-Identifier: MIT */
/* Stands in for the checks of the parts of a rule set: each passes or does not. */
#include "tests/proof/ub.h"

bool td_duty_rules_ok(const struct td_duty_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_supply_rules_ok(const struct td_supply_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_twist_rules_ok(const struct td_twist_rules *rules)
{
	(void)rules;
	return nondet_bool();
}
