/* SPDX-License-Identifier: MIT */
/*
 * What the proofs share: one step of the core seen from outside, and the words to assume and to claim.
 *
 * Under the model checker a claim is proven for every value; compiled as usual (tests/unit/test_explore.c) the
 * same claims are tried on real runs, so what is proven is also what happens.
 */
#ifndef TD_PROOF_H
#define TD_PROOF_H

#include "core/core.h"

#ifdef TD_PROVING
#define CLAIM(condition, text) __CPROVER_assert(condition, text)
#define ASSUME(condition)      __CPROVER_assume(condition)
#define REACHABLE(condition)   __CPROVER_cover(condition)
#else
/* Given by whoever links the claims into an ordinary program. */
void proof_claim(bool condition, const char *text);

#define CLAIM(condition, text) proof_claim(condition, text)
#define ASSUME(condition)      proof_claim(condition, "assumption")
#define REACHABLE(condition)   ((void)(condition))
#endif

/* One step of the core, and the axis that is looked at. */
struct proof_turn {
	const struct td_rules *rules;
	const struct td_core *before;
	const struct td_event *event;
	const struct td_core *after;
	const struct td_result *result;
	uint8_t axis;
};

/* Any bytes. Not defined anywhere: the model checker takes every value. */
struct td_rules nondet_rules(void);
struct td_core nondet_core(void);
struct td_event nondet_event(void);
struct td_axis nondet_axis(void);
struct td_axis_input nondet_axis_input(void);
td_ns nondet_ns(void);
uint8_t nondet_byte(void);
unsigned int nondet_word(void);
bool nondet_bool(void);

#endif
