/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/supply.c, which the harness `supply` proves for any bytes: anything may come out. */
#include "core/supply.h"
#include "tests/proof/ub.h"

struct td_supply nondet_supply(void);

void td_supply_init(struct td_supply *supply)
{
	*supply = nondet_supply();
}

void td_supply_ask(struct td_supply *supply, uint8_t axis, bool reversal)
{
	(void)axis;
	(void)reversal;
	td_supply_init(supply);
}

enum td_supply_answer td_supply_answer(const struct td_supply *supply, const struct td_supply_rules *rules,
				       uint8_t axis, td_ns now_ns)
{
	(void)supply;
	(void)rules;
	(void)axis;
	(void)now_ns;
	return (enum td_supply_answer)nondet_word();
}

void td_supply_started(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis, td_ns now_ns)
{
	(void)rules;
	(void)axis;
	(void)now_ns;
	td_supply_init(supply);
}

void td_supply_stopped(struct td_supply *supply, uint8_t axis)
{
	(void)axis;
	td_supply_init(supply);
}

td_ns td_supply_deadline(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns)
{
	(void)supply;
	(void)rules;
	(void)now_ns;
	return nondet_ns();
}
