/* SPDX-License-Identifier: MIT */
/*
 * Stands in for td_report() of lib/core/report.c and for lib/core/cause.c. Which trips a visitor may reset is any
 * function of the cause; the others only word the news and decide nothing: the count is kept, the contents are not. prove_news.c looks at the real ones.
 */
#include "core/step.h"
#include "tests/proof/proof.h"

void td_report(struct td_step *step, enum td_cause cause, uint8_t axis, uint8_t way, uint8_t sw)
{
	(void)cause;
	(void)axis;
	(void)way;
	(void)sw;
	if (step->result->news_count >= TD_NEWS_MAX)
		step->result->news_lost++;
	else
		step->result->news_count++;
}

enum td_cause_kind td_cause_kind(enum td_cause cause)
{
	(void)cause;
	return (enum td_cause_kind)nondet_word();
}

bool td_cause_visitor_resets(enum td_cause cause)
{
	return __CPROVER_uninterpreted_visitor_resets((int)cause);
}
