/* SPDX-License-Identifier: MIT */
/* The real td_report(), which news_abstract.c stands in for: within its array for any count, and it counts. */
#include "core/step.h"
#include "tests/proof/proof.h"

int main(void)
{
	const struct td_rules rules = nondet_rules();
	struct td_core core = nondet_core();
	const struct td_event event = nondet_event();
	struct td_result result;
	struct td_step step = {.core = &core, .rules = &rules, .event = &event, .result = &result};
	uint16_t count = (uint16_t)nondet_word();

	ASSUME(count <= TD_NEWS_MAX);
	result.news_count = count;
	result.news_lost = 0;

	const struct td_core before = core;

	td_report(&step, (enum td_cause)nondet_word(), nondet_byte(), nondet_byte(), nondet_byte());
	if (count < TD_NEWS_MAX)
		CLAIM(result.news_count == count + 1 && result.news_lost == 0, "news is counted");
	else
		CLAIM(result.news_count == count && result.news_lost == 1, "lost news is counted");
	CLAIM(core.now_ns == before.now_ns && core.latch == before.latch && core.armed == before.armed,
	      "news changes nothing");
	return 0;
}
