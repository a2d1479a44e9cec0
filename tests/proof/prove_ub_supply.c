/* SPDX-License-Identifier: MIT */
/* Any bytes as state and as rules, any axis, any time. */
#include "core/supply.h"
#include "tests/proof/ub.h"

struct td_supply nondet_supply(void);
struct td_supply_rules nondet_supply_rules(void);

int main(void)
{
	struct td_supply supply = nondet_supply();
	const struct td_supply_rules rules = nondet_supply_rules();
	uint8_t axis = nondet_byte();
	td_ns now_ns = nondet_ns();

#if PROOF_CASE == 0
	td_supply_answer(&supply, &rules, axis, now_ns);
#elif PROOF_CASE == 1
	td_supply_drawn_ma(&supply, &rules, now_ns);
	td_supply_rules_ok(&rules);
#elif PROOF_CASE == 2
	td_supply_deadline(&supply, &rules, now_ns);
#else
	td_supply_ask(&supply, axis, nondet_bool());
	td_supply_started(&supply, &rules, axis, now_ns);
	td_supply_stopped(&supply, axis);
	td_supply_init(&supply);
#endif
	REACHED();
	return 0;
}
