/* SPDX-License-Identifier: MIT */
/* turned(), left_fturn() and used_up_ns() of lib/core/twist.c are within what ub_turns.c says, for what it asks for. */
#include "tests/proof/ub_twist.h"

/* A cell is a factor of two of the rate. Together with the rate of nothing they are all rates. */
enum { CELLS = 24 };
_Static_assert(TD_TWIST_RATE_MAX_PPM_S >> CELLS == 0, "the cells are all rates");

static void turn(int cell)
{
	int64_t rate = nondet_ns();

	ASSUME(rate_counts(rate) && (rate < 0 ? -rate : rate) >> cell == 1);
	CLAIM(__CPROVER_file_local_twist_c_turned(rate, nondet_ns()) > INT64_MIN, "turns have a size");
}

int main(void)
{
	struct td_twist twist = nondet_twist();
	const struct td_twist_rules rules = nondet_twist_rules();
	int64_t rate = nondet_ns();
	uint8_t way = nondet_byte();


	ASSUME(rate_counts(rate) && td_twist_rules_ok(&rules) && rules.source != TD_TWIST_UNLIMITED && way < TD_WAYS);
#if PROOF_CASE == 0
	for (int cell = 0; cell < CELLS; cell++)
		turn(cell);
	CLAIM(__CPROVER_file_local_twist_c_turned(0, nondet_ns()) == 0, "what stands does not turn");
#elif PROOF_CASE == 1
	int64_t left = __CPROVER_file_local_twist_c_left_fturn(&twist, &rules, rate);

	CLAIM(left >= 0 && left <= LEFT_MAX, "what is left is in range");
#else
	int64_t left = nondet_ns();

	ASSUME(left >= 0 && left <= LEFT_MAX && rate != 0);
	__CPROVER_file_local_twist_c_used_up_ns(&rules, way, rate, left);
#endif
	REACHED();
	return 0;
}
