/* SPDX-License-Identifier: MIT */
/* Stands in for turned(), left_fturn() and used_up_ns() of lib/core/twist.c; the harness `turns` looks at the real ones. */
#include "tests/proof/ub_twist.h"

int64_t __CPROVER_file_local_twist_c_turned(int64_t rate_ppm_s, td_ns span_ns)
{
	int64_t fturn = nondet_ns();

	(void)span_ns;
	CLAIM(rate_counts(rate_ppm_s), "a rate is one that may be configured");
	ASSUME(fturn > INT64_MIN);
	return fturn;
}

int64_t __CPROVER_file_local_twist_c_left_fturn(const struct td_twist *twist, const struct td_twist_rules *rules,
						int64_t rate)
{
	int64_t left = nondet_ns();

	(void)twist;
	CLAIM(td_twist_rules_ok(rules) && rules->source != TD_TWIST_UNLIMITED, "only what is counted has a limit");
	CLAIM(rate_counts(rate), "a rate is one that may be configured");
	ASSUME(left >= 0 && left <= LEFT_MAX);
	return left;
}

td_ns __CPROVER_file_local_twist_c_used_up_ns(const struct td_twist_rules *rules, uint8_t way, int64_t rate, int64_t left)
{
	CLAIM(td_twist_rules_ok(rules) && way < TD_WAYS && rate != 0 && rate_counts(rate), "something uses it up");
	CLAIM(left >= 0 && left <= LEFT_MAX, "what is left is in range");
	return nondet_ns();
}
