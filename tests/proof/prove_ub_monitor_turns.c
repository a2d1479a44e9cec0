/* SPDX-License-Identifier: MIT */
/* turned() and turns_of() of lib/core/monitor_twist.c are within what ub_monitor_turns.c says, for what it asks for. */
#include "tests/proof/ub_monitor_turns.h"

/* A cell is a factor of two of the largest rate, or of the steps for a turn. */
#if PROOF_CASE == 0
_Static_assert(TD_TWIST_RATE_MAX_PPM_S >> 24 == 0, "24 cells are all rates");

static void turn(int cell)
{
	const struct td_twist_rules rules = nondet_twist_rules();
	const int32_t *rate = rules.rate_ppm_s[0];
	int32_t lean_ppm = nondet_int();
	td_ns span_ns = nondet_ns();

	for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
		ASSUME(ub_within(rate[side], TD_TWIST_RATE_MAX_PPM_S) && size_of(rate[side]) < INT64_C(2) << cell);
	/* What the largest rate of the cell allows is no less than what is allowed. */
	ASSUME(span_ns >= 0 && span_ns <= DRIVE_MAX >> cell && ub_within(lean_ppm, 1000000));
	CLAIM(ub_within(__CPROVER_file_local_monitor_twist_c_turned(rate, lean_ppm, span_ns), TURNED_MAX),
	      "a drive turns no farther");
}
#else
_Static_assert(TD_TWIST_STEPS_MAX >> 17 == 0, "17 cells are all steps");

static void turn(int cell)
{
	int64_t counts = nondet_ns();
	int64_t steps = nondet_ns();

	ASSUME(ub_within(counts, COUNTS_MAX) && steps_count(steps) && size_of(steps) >> cell == 1);
	CLAIM(ub_within(__CPROVER_file_local_monitor_twist_c_turns_of(counts, steps), TURNS_MAX), "turns stay within");
}
#endif

int main(void)
{
	turn(PROOF_CELL);
	REACHED();
	return 0;
}
