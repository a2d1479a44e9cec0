/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_MONITOR_TURNS_H
#define TD_PROOF_UB_MONITOR_TURNS_H

#include "tests/proof/ub_monitor.h"

/* As in monitor_twist.c: no drive that is counted turns the machine farther. */
#define DRIVE_MAX INT64_C(1000000000000000000)

/* A power of two that is more than four times that. */
#define TURNED_MAX (INT64_C(1) << 62)

struct td_twist_rules nondet_twist_rules(void);

int64_t __CPROVER_file_local_monitor_twist_c_turned(const int32_t *rate, int32_t lean_ppm, td_ns span_ns);
int64_t __CPROVER_file_local_monitor_twist_c_turns_of(int64_t counts, int64_t steps);

static inline int64_t size_of(int64_t value)
{
	return value < 0 ? -value : value;
}

/* The largest rate of a way. */
static inline int64_t circle_of(const int32_t *rate)
{
	int64_t most = 0;

	for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
		if (size_of(rate[side]) > most)
			most = size_of(rate[side]);
	return most;
}

static inline bool steps_count(int64_t steps)
{
	return steps != 0 && ub_within(steps, TD_TWIST_STEPS_MAX);
}

#endif
