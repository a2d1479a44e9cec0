/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_judge.c, as its harness proves it. */
#include "tests/proof/ub_monitor.h"

bool td_monitor_check(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way,
		      struct td_verdict *verdict)
{
	(void)verdict;
	CLAIM(axis < rules->axes && way < TD_WAYS && ub_monitor_ok(monitor), "it is for a way of an axis");
	return nondet_bool();
}

bool td_monitor_check_supply(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis, uint8_t way,
			     struct td_verdict *verdict)
{
	return td_monitor_check(monitor, rules, axis, way, verdict);
}
