/* SPDX-License-Identifier: MIT */
/*
 * Stands in for worth() of lib/core/travel.c: a product and a quotient of 64 bits are more than the model checker
 * can do beside anything else. prove_worth.c looks at the real one.
 */
#include "tests/proof/proof.h"

td_ns __CPROVER_file_local_travel_c_worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	td_ns worth_ns = nondet_ns();

	CLAIM(way < TD_WAYS && span_ns > 0, "worth() is asked about a run");
	ASSUME(worth_ns >= 0 && worth_ns <= rules->way[1 - way].reach_ns);
	return worth_ns;
}
