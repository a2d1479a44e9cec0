/* SPDX-License-Identifier: MIT */
/* longest_ms() of lib/core/duty.c, whatever the answers to its questions are. */
#include "tests/proof/ub_duty.h"

static bool any(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns)
{
	(void)duty;
	(void)rules;
	CLAIM(span_ns >= 0 && span_ns <= TD_MS((td_ns)LONGEST_LIMIT_MS), "it asks about spans of its range");
	return nondet_bool();
}

int main(void)
{
	struct td_duty duty = nondet_duty();
	const struct td_duty_rules rules = nondet_duty_rules();
	td_ns span_ms = __CPROVER_file_local_duty_c_longest_ms(&duty, &rules, any);

	CLAIM(span_ms >= 0 && (uint64_t)span_ms < LONGEST_LIMIT_MS, "the longest span is in its range");
	REACHED();
	return 0;
}
