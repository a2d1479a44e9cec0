/* SPDX-License-Identifier: MIT */
/*
 * Stands in for worth() of lib/core/travel.c where two moments of one axis are compared: any function of its
 * arguments, the same one each time, within what the harness `worth` proves of the real one.
 */
#include "tests/proof/proof.h"

td_ns __CPROVER_uninterpreted_worth(td_ns own_ns, td_ns other_ns, td_ns span_ns);

td_ns __CPROVER_file_local_travel_c_worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	td_ns own_ns = way == 0 ? rules->way[0].reach_ns : rules->way[1].reach_ns;
	td_ns other_ns = way == 0 ? rules->way[1].reach_ns : rules->way[0].reach_ns;
	td_ns worth_ns = __CPROVER_uninterpreted_worth(own_ns, other_ns, span_ns);

	ASSUME(worth_ns >= 0 && worth_ns <= other_ns);
	return worth_ns;
}
