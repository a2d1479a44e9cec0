/* SPDX-License-Identifier: MIT */
#include "tests/proof/start.h"

#include "tests/proof/invariant.h"

static uint8_t used_or_not(uint8_t sw)
{
	return nondet_bool() ? sw : TD_NO_SWITCH;
}

struct td_rules proof_any_rules(void)
{
	struct td_rules rules = nondet_rules();

	rules.axes = TD_AXES_MAX;
	rules.switches = TD_SWITCHES_MAX;
	rules.stop_switch = used_or_not(TD_SWITCHES_MAX - 1);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			rules.axis[axis].way[way].end_switch = used_or_not((uint8_t)(axis * TD_WAYS + way));
	ASSUME(td_rules_check(&rules).fault == TD_RULES_OK);
	return rules;
}

struct td_core proof_any_core(const struct td_rules *rules)
{
	struct td_core core = nondet_core();

	ASSUME(proof_bools(&core) && proof_invariant(&core, rules));
	return core;
}
