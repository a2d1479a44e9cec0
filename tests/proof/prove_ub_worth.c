/* SPDX-License-Identifier: MIT */
/* worth_at_most() and worth_at_least() of lib/core/monitor_power.c: any rules, any span. */
#include "tests/proof/ub_worth.h"

int main(void)
{
	const struct td_axis_rules rules = nondet_axis_rules();
	uint8_t way = nondet_byte();
	td_ns span_ns = nondet_ns();

	ASSUME(way < TD_WAYS && span_ns >= 0);
#if PROOF_CASE == 0
	CLAIM(__CPROVER_file_local_monitor_power_c_worth_at_most(&rules, way, span_ns) >= 0, "no worth is less than nothing");
#else
	CLAIM(__CPROVER_file_local_monitor_power_c_worth_at_least(&rules, way, span_ns) >= 0, "no worth is less than nothing");
#endif
	REACHED();
	return 0;
}
