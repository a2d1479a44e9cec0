/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_duty.c, as its harnesses prove it: they keep a state of their own in order. */
#include "tests/proof/ub_monitor.h"

struct td_monitor_duty nondet_monitor_duty(void);
struct td_monitor_finding nondet_finding(void);

void td_monitor_duty_init(struct td_monitor_duty *duty, td_ns now_ns)
{
	CLAIM(now_ns >= 0, "it is for a time");
	*duty = nondet_monitor_duty();
}

void td_monitor_duty_power(struct td_monitor_duty *duty, const struct td_duty_rules *rules, bool on, td_ns now_ns)
{
	(void)rules;
	(void)on;
	td_monitor_duty_init(duty, now_ns);
}

struct td_monitor_finding td_monitor_duty_judge(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
						td_ns now_ns, bool starts)
{
	(void)duty;
	(void)rules;
	(void)starts;
	CLAIM(now_ns >= 0, "it is for a time");
	return nondet_finding();
}
