/* SPDX-License-Identifier: MIT */
#include "tests/proof/ub_step.h"

struct ub_step ub;

struct td_result nondet_result(void);

uint8_t ub_step_any(void)
{
	uint8_t axis = TD_AXES_MAX == 1 ? 0 : nondet_byte();

	ub.rules = nondet_rules();
	ub.core = nondet_core();
#ifdef PROOF_STATE
	ub.core.axis[0].state = PROOF_STATE;
	ub.core.axis[0].way = PROOF_WAY;
#endif
	ub.event = nondet_event();
	ub.result = nondet_result();
	ub.lost = ub.result.news_lost;
	ub.step = (struct td_step){&ub.core, &ub.rules, &ub.event, &ub.result, ub.core.now_ns, nondet_word()};
	ASSUME(ub_rules_ok(&ub.rules) && ub_core_ok(&ub.core) && axis < ub.rules.axes);
	ASSUME(ub.result.news_count <= TD_NEWS_MAX && ub.lost <= NEWS_LOST_MAX);
	return axis;
}

void ub_step_claim(uint16_t most)
{
	CLAIM(ub_core_ok(&ub.core), "what the core needs, it keeps");
	CLAIM(ub.result.news_count <= TD_NEWS_MAX && ub.result.news_lost - ub.lost <= most, "news stays countable");
}
