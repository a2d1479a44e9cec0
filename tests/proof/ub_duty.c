/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/duty.c, which the harnesses `duty` prove for any bytes: anything may come out. */
#include "tests/proof/ub_duty.h"

bool td_duty_rules_ok(const struct td_duty_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_duty_sane(const struct td_duty *duty)
{
	(void)duty;
	return nondet_bool();
}

void td_duty_init(struct td_duty *duty, td_ns now_ns)
{
	(void)now_ns;
	*duty = nondet_duty();
}

void td_duty_init_unknown(struct td_duty *duty, td_ns now_ns)
{
	td_duty_init(duty, now_ns);
}

void td_duty_shift(struct td_duty *duty, td_ns by_ns)
{
	td_duty_init(duty, by_ns);
}

void td_duty_power(struct td_duty *duty, const struct td_duty_rules *rules, bool powered, td_ns now_ns)
{
	(void)rules;
	(void)powered;
	td_duty_init(duty, now_ns);
}

struct td_duty_verdict td_duty_may_start(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	(void)duty;
	(void)rules;
	(void)now_ns;
	return (struct td_duty_verdict){(enum td_duty_limit)nondet_word(), nondet_ns()};
}

struct td_duty_verdict td_duty_cut(const struct td_duty *duty, const struct td_duty_rules *rules)
{
	return td_duty_may_start(duty, rules, 0);
}
