/* SPDX-License-Identifier: MIT */
/* Stands in for read_counter() of lib/core/monitor_duty.c, as its harness proves it: readings in order stay so. */
#include "tests/proof/ub_reading.h"

void __CPROVER_file_local_monitor_duty_c_read_counter(struct td_monitor_duty *duty, int index, td_ns now_ns)
{
	CLAIM(index >= 0 && index < TD_BUDGET_SPANS, "it is of a window");
	CLAIM(now_ns == read_until_ns && counter_ok(duty, now_ns), "it is of a counter in order");
	CLAIM(duty->window[index].newest >= 0, "its window is in order");
}
