/* SPDX-License-Identifier: MIT */
/*
 * worth() of lib/core/travel.c keeps what worth_abstract.c and worth_function.c promise for it: 0 to one reach of the other
 * way, for every reach and span, and no overflow on the road (the checks of the model checker).
 */
#include "tests/proof/proof.h"

td_ns __CPROVER_file_local_travel_c_worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns);

int main(void)
{
	struct td_axis_rules rules = nondet_rules().axis[0];
	uint8_t way = nondet_bool() ? 1 : 0;
	td_ns span_ns = nondet_ns();

	ASSUME(span_ns >= 0);

	td_ns worth_ns = __CPROVER_file_local_travel_c_worth(&rules, way, span_ns);

	CLAIM(worth_ns >= 0, "R4, R6: a span is never worth less than nothing");
	CLAIM(worth_ns <= rules.way[1 - way].reach_ns || worth_ns == 0, "R4, R6: a span is never worth more than one reach");
	return 0;
}
