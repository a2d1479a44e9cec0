/* SPDX-License-Identifier: MIT */
/* Stands in for longest_ms() of lib/core/duty.c; the harness `longest` looks at the real one. The questions it asks of a
 * span are asked once, of any span it can ask about. */
#include "tests/proof/ub_duty.h"

td_ns __CPROVER_file_local_duty_c_longest_ms(const struct td_duty *duty, const struct td_duty_rules *rules,
					     span_test holds)
{
	td_ns span_ms = (td_ns)(nondet_long() & (LONGEST_LIMIT_MS - 1));

	holds(duty, rules, TD_MS(span_ms));
	return span_ms;
}
