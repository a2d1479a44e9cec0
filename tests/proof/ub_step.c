/* SPDX-License-Identifier: MIT */
#include "tests/proof/ub_step.h"

struct ub_step ub;

struct td_result nondet_result(void);
uint16_t nondet_half(void);

uint8_t ub_step_any(void)
{
	uint8_t axis = TD_AXES_MAX == 1 ? 0 : nondet_byte();

	ub.rules = nondet_rules();
#if TD_AXES_MAX == 1
	ub.rules.axes = 1; /* said, and not assumed, it ends the loops */
#endif
	ub.core = nondet_core();
#ifdef PROOF_STATE
	ub.core.axis[0].state = PROOF_STATE;
	ub.core.axis[0].way = PROOF_WAY;
#endif
	ub.event = nondet_event();
#ifdef PROOF_NAMED
	ub.event.axis = PROOF_NAMED;
#endif
#ifdef PROOF_ASKED
	ub.event.way = PROOF_ASKED;
#endif
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

void ub_step_after(struct td_step *step, uint16_t most)
{
	uint16_t lost = nondet_half();

	CLAIM(ub_core_ok(step->core) && step->now_ns == step->core->now_ns, "a part of a step finds the core in order");
	CLAIM(step->result->news_count <= TD_NEWS_MAX && step->result->news_lost <= NEWS_LOST_MAX, "news has its place");
	*step->core = nondet_core();
	step->result->news_count = nondet_byte();
	ASSUME(ub_core_ok(step->core) && step->core->now_ns == step->now_ns);
	ASSUME(lost <= most && step->result->news_count <= TD_NEWS_MAX);
	step->result->news_lost = (uint16_t)(step->result->news_lost + lost);
}
