/* SPDX-License-Identifier: MIT */
/* Stands in for latest_moment() and take_reading() of lib/core/monitor_duty.c, as their harnesses prove them: a reading is left
 * in order, and nobody looks at it where it is taken. */
#include "tests/proof/ub_reading.h"

struct moment __CPROVER_file_local_monitor_duty_c_latest_moment(int index, td_ns now_ns)
{
	struct moment moment = nondet_moment();

	CLAIM(index >= 0 && index < TD_BUDGET_SPANS && now_ns >= 0, "it is for a time");
	ASSUME(moment_ok(moment, now_ns));
	return moment;
}

void __CPROVER_file_local_monitor_duty_c_take_reading(struct td_monitor_duty *duty, int index,
						      struct moment moment)
{
	CLAIM(index >= 0 && index < TD_BUDGET_SPANS, "it is of a window");
	CLAIM(moment.number >= 0, "it has a place");
	CLAIM(moment.at_ns <= read_until_ns && counter_ok(duty, read_until_ns),
	      "it is of the past of a counter in order");
}
