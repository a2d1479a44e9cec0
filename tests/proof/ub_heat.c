/* SPDX-License-Identifier: MIT */
/* Stands in for what of lib/core/monitor_duty.c reckons with heat, where whole numbers are looked at: any answer. */
#include "tests/proof/ub_heat.h"

double td_monitor_duty_heat(const struct td_monitor_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	(void)duty;
	(void)rules;
	CLAIM(now_ns >= 0, "it is for a time");
	return nondet_double();
}

bool __CPROVER_file_local_monitor_duty_c_was_due(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
						 td_ns now_ns)
{
	(void)duty;
	(void)rules;
	CLAIM(now_ns >= 0, "it is for a time");
	return nondet_bool();
}

enum td_breach __CPROVER_file_local_monitor_duty_c_heat_breach(const struct td_monitor_duty *duty,
							       const struct td_duty_rules *rules, td_ns ahead_ns,
							       bool starts)
{
	(void)duty;
	(void)rules;
	(void)starts;
	CLAIM(ahead_ns >= 0, "it is for a span");
	return (enum td_breach)nondet_word();
}
