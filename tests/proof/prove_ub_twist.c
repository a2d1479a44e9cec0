/* SPDX-License-Identifier: MIT */
/* Any bytes as state and as rules, any way, side and time. */
#include "tests/proof/ub_twist.h"

int main(void)
{
	struct td_twist twist = nondet_twist();
	const struct td_twist_rules rules = nondet_twist_rules();
	uint8_t way = nondet_byte();
	enum td_twist_side side = (enum td_twist_side)nondet_word();

#if PROOF_CASE == 0
	td_twist_rules_ok(&rules);
	td_twist_contacts(&twist, nondet_byte());
	td_twist_straighten(&twist);
	td_twist_init_unknown(&twist);
#elif PROOF_CASE == 1
	td_twist_advance(&twist, &rules, way, side, nondet_ns());
#elif PROOF_CASE == 2
	td_twist_unseen(&twist, &rules, nondet_ns());
#elif PROOF_CASE == 3
	td_twist_blocks(&twist, &rules, way, side);
#elif PROOF_CASE == 4
	td_twist_left_ns(&twist, &rules, way, side);
#else
	td_twist_net_uturn(&twist, &rules);
	td_twist_doubt_uturn(&twist, &rules);
#endif
	REACHED();
	return 0;
}
