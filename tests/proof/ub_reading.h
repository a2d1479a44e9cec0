/* SPDX-License-Identifier: MIT */
/* The readings of lib/core/monitor_duty.c, one at a time. */
#ifndef TD_PROOF_UB_READING_H
#define TD_PROOF_UB_READING_H

#include "tests/proof/ub_heat.h"

/* What the harness calls now. */
extern td_ns read_until_ns;

/* As there. */
struct moment {
	int64_t number;
	td_ns at_ns;
};

struct moment nondet_moment(void);

struct moment __CPROVER_file_local_monitor_duty_c_latest_moment(int index, td_ns now_ns);
void __CPROVER_file_local_monitor_duty_c_take_reading(struct td_monitor_duty *duty, int index,
						      struct moment moment);
void __CPROVER_file_local_monitor_duty_c_read_counter(struct td_monitor_duty *duty, int index, td_ns now_ns);

static inline bool moment_ok(struct moment moment, td_ns now_ns)
{
	return (moment.number >= 0) & (moment.number <= now_ns) & (moment.at_ns >= 0) &
	       (moment.at_ns <= now_ns);
}

/* One reading of a window; where it may be any of them, this is said of all. */
static inline bool reading_ok(const struct td_monitor_window *window, unsigned at, td_ns now_ns)
{
	return (window->newest >= 0) & (window->reading_ns[at] >= 0) & (window->reading_ns[at] <= now_ns);
}

#endif
