/* SPDX-License-Identifier: MIT */
/* piece_of(), roll(), add_piece() and left_of() of lib/core/budget.c do what ub_budget_parts.c and ub_left.c say, for any sane window. */
#include "tests/proof/ub_budget.h"

int main(void)
{
	struct td_budget budget = nondet_budget();
	td_ns before_ns = budget.begin_ns;
	td_ns at_ns = nondet_ns();
	td_ns to_ns = nondet_ns();
	uint8_t age = nondet_byte();

	ASSUME(td_budget_sane(&budget, SPAN));
	CLAIM(budget.newest < TD_BUDGET_BUCKETS && time_counts(before_ns), "what is sane is in range");
#if PROOF_CASE == 0
	ASSUME(age < TD_BUDGET_BUCKETS);
	CLAIM(piece_ok(__CPROVER_file_local_budget_c_piece_of(&budget, SPAN, age)), "a piece is in range");
#elif PROOF_CASE == 1
	ASSUME(at_ns <= TD_BUDGET_TIME_MAX_NS);
	__CPROVER_file_local_budget_c_roll(&budget, length_ns(), at_ns);
	CLAIM(at_ns >= before_ns || budget.begin_ns == before_ns, "what was before moves nothing");
	CLAIM(at_ns < before_ns || (budget.begin_ns <= at_ns && at_ns - budget.begin_ns < length_ns()), "the newest part is that of now");
	CLAIM(budget.newest < TD_BUDGET_BUCKETS, "the newest part is one");
#elif PROOF_CASE == 3
	struct piece piece = {nondet_ns(), nondet_ns()};

	ASSUME(piece_ok(piece));

	td_ns left_ns = __CPROVER_file_local_budget_c_left_of(piece, at_ns);

	CLAIM(left_ns >= 0 && (uint64_t)left_ns < LEFT_LIMIT_NS, "no more is left than a part");
#elif PROOF_CASE == 4
	ASSUME(run_ok(at_ns, to_ns));
	at_ns = __CPROVER_file_local_budget_c_add_part(&budget, length_ns(), at_ns, to_ns);
	CLAIM(at_ns <= TD_BUDGET_TIME_MAX_NS, "what is left of a run begins where time counts");
#else
	ASSUME(within_newest(&budget, at_ns, to_ns));
	__CPROVER_file_local_budget_c_add_piece(&budget, at_ns, to_ns);
	CLAIM(td_budget_sane(&budget, SPAN), "a window with one run more is sane");
#endif
	REACHED();
	return 0;
}
