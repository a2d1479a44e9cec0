/* SPDX-License-Identifier: MIT */
/*
 * Stands in for turned() and turns_of() of lib/core/monitor_twist.c; the harness `monitor_turns` looks at the real ones. It is asked for
 * rates of one cell, a factor of two of the largest.
 */
#include "tests/proof/ub_monitor_turns.h"

int64_t __CPROVER_file_local_monitor_twist_c_turned(const int32_t *rate, int32_t lean_ppm, td_ns span_ns)
{
	int64_t fturn = nondet_ns();
	int64_t circle = circle_of(rate);

	CLAIM(circle >> PROOF_CELL == 1 && span_ns >= 0 && span_ns <= DRIVE_MAX >> PROOF_CELL, "a drive that counts is asked about");
	CLAIM(ub_within(lean_ppm, 1000000), "the steering is between its stops");
	ASSUME(ub_within(fturn, TURNED_MAX));
	return fturn;
}

int64_t __CPROVER_file_local_monitor_twist_c_turns_of(int64_t counts, int64_t steps)
{
	int64_t fturn = nondet_ns();

	CLAIM(ub_within(counts, COUNTS_MAX) && steps_count(steps), "counts that count are asked about");
	ASSUME(ub_within(fturn, TURNS_MAX));
	return fturn;
}
