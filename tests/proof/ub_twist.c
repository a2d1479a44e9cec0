/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/twist.c, which the harnesses `twist` prove for any bytes: anything may come out. */
#include "tests/proof/ub_twist.h"

bool td_twist_rules_ok(const struct td_twist_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_twist_straighten(struct td_twist *twist)
{
	*twist = nondet_twist();
}

void td_twist_init_unknown(struct td_twist *twist)
{
	*twist = nondet_twist();
}

void td_twist_advance(struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way, enum td_twist_side side,
		      td_ns span_ns)
{
	(void)rules;
	(void)way;
	(void)side;
	(void)span_ns;
	*twist = nondet_twist();
}

void td_twist_unseen(struct td_twist *twist, const struct td_twist_rules *rules, td_ns span_ns)
{
	(void)rules;
	(void)span_ns;
	*twist = nondet_twist();
}

void td_twist_contacts(struct td_twist *twist, uint8_t levels)
{
	(void)levels;
	*twist = nondet_twist();
}

bool td_twist_blocks(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		     enum td_twist_side side)
{
	(void)twist;
	(void)rules;
	(void)way;
	(void)side;
	return nondet_bool();
}

td_ns td_twist_left_ns(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		       enum td_twist_side side)
{
	(void)twist;
	(void)rules;
	(void)way;
	(void)side;
	return nondet_ns();
}

int64_t td_twist_net_uturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	(void)twist;
	(void)rules;
	return nondet_ns();
}

int64_t td_twist_doubt_uturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	(void)twist;
	(void)rules;
	return nondet_ns();
}
