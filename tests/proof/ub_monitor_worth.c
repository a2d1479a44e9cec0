/* SPDX-License-Identifier: MIT */
/* Stands in for worth_at_most() and worth_at_least() of lib/core/monitor_power.c; the harness `worth` looks at the real ones. */
#include "tests/proof/ub_worth.h"

td_ns __CPROVER_file_local_monitor_power_c_worth_at_most(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	td_ns worth_ns = nondet_ns();

	(void)rules;
	CLAIM(way < TD_WAYS && span_ns >= 0, "a span of a way is asked about");
	ASSUME(worth_ns >= 0);
	return worth_ns;
}

td_ns __CPROVER_file_local_monitor_power_c_worth_at_least(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	return __CPROVER_file_local_monitor_power_c_worth_at_most(rules, way, span_ns);
}
