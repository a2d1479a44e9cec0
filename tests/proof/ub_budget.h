/* SPDX-License-Identifier: MIT */
/* The insides of lib/core/budget.c, proven one by one: each has a harness and stands in for itself in the others. */
#ifndef TD_PROOF_UB_BUDGET_H
#define TD_PROOF_UB_BUDGET_H

#include "tests/proof/ub_duty.h"

/* As in budget.c. */
struct piece {
	td_ns begin_ns;
	td_ns end_ns;
};

/* One span a run, so that divisions by its length are by a constant. */
#define SPAN ((enum td_budget_span)PROOF_SPAN)

static inline td_ns length_ns(void)
{
	return td_budget_span_ns(SPAN) / TD_BUDGET_PARTS;
}

struct piece __CPROVER_file_local_budget_c_piece_of(const struct td_budget *budget, enum td_budget_span span, int age);
void __CPROVER_file_local_budget_c_roll(struct td_budget *budget, td_ns length_ns, td_ns at_ns);
void __CPROVER_file_local_budget_c_add_piece(struct td_budget *budget, td_ns from_ns, td_ns to_ns);

td_ns __CPROVER_file_local_budget_c_add_part(struct td_budget *budget, td_ns length_ns, td_ns from_ns, td_ns to_ns);
td_ns __CPROVER_file_local_budget_c_left_of(struct piece piece, td_ns from_ns);

/* A power of two that is more than a part of any window. */
#define LEFT_LIMIT_NS (UINT64_C(1) << 42)

/* What piece_of() gives. */
static inline bool piece_ok(struct piece piece)
{
	return piece.end_ns >= -TD_BUDGET_TIME_MAX_NS - TD_BUDGET_PARTS * length_ns() &&
	       piece.end_ns <= TD_BUDGET_TIME_MAX_NS + length_ns() && piece.begin_ns <= piece.end_ns &&
	       piece.begin_ns >= piece.end_ns - length_ns();
}

static inline bool time_counts(td_ns at_ns)
{
	return at_ns >= -TD_BUDGET_TIME_MAX_NS && at_ns <= TD_BUDGET_TIME_MAX_NS;
}

/* from_ns ... to_ns lies within the newest part. */
static inline bool within_newest(const struct td_budget *budget, td_ns from_ns, td_ns to_ns)
{
	return from_ns >= budget->begin_ns && to_ns > from_ns && to_ns <= budget->begin_ns + length_ns();
}

/* What of a run td_budget_add() has not yet added. */
static inline bool run_ok(td_ns from_ns, td_ns to_ns)
{
	return from_ns <= TD_BUDGET_TIME_MAX_NS && time_counts(to_ns);
}

/* What td_budget_sane() answers of the window of a run, where it is stood in for. */
extern bool ub_budget_sane;

#endif
