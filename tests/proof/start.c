/* SPDX-License-Identifier: MIT */
#include "tests/proof/start.h"

struct td_rules proof_any_rules(unsigned int ends)
{
	struct td_rules rules = nondet_rules();

	rules.axes = TD_AXES_MAX;
	rules.switches = TD_SWITCHES_MAX;
	rules.cable.drive = 0;
	rules.stop_switch = TD_SWITCHES_MAX - 1;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			if (TD_AXES_MAX == 1)
				rules.axis[axis].way[way].bars = 0; /* nobody to bar; see bar_abstract.c */
			rules.axis[axis].way[way].end_switch =
				(ends >> (axis * TD_WAYS + way) & 1) != 0 ? (uint8_t)(axis * TD_WAYS + way)
									  : TD_NO_SWITCH;
		}
	ASSUME(td_rules_check(&rules).fault == TD_RULES_OK);
	return rules;
}
