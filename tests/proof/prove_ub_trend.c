/* SPDX-License-Identifier: MIT */
/* Any bytes as state and as rules, any time. */
#include "core/trend.h"
#include "tests/proof/ub.h"

struct td_trend nondet_trend(void);
struct td_trend_rules nondet_trend_rules(void);

int main(void)
{
	struct td_trend trend = nondet_trend();
	const struct td_trend_rules rules = nondet_trend_rules();

#if PROOF_CASE == 0
	td_trend_sane(&trend);
	td_trend_rules_ok(&rules);
	td_trend_travel(&trend, &rules, nondet_ns());
	td_trend_init(&trend);
#else
	td_trend_slower_ppm(&trend);
#endif
	REACHED();
	return 0;
}
