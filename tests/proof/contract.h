/* SPDX-License-Identifier: MIT */
/*
 * The contracts of the stages of a step (lib/core/step.h gives their order). Each stage has two functions: what
 * it needs of the state it meets, and what it gives, compared with that state. They are compiled twice: for the
 * proof of the stage its needs are assumed and what it gives is proven of the real code; for the proof of the whole
 * step (PROOF_STANDS_IN) the stage is only its contract, its needs are proven and what it gives is assumed.
 */
#ifndef TD_PROOF_CONTRACT_H
#define TD_PROOF_CONTRACT_H

#include "core/step.h"

#ifdef PROOF_STANDS_IN
#define NEEDS(condition, text) __CPROVER_assert(condition, text)
#define GIVES(condition, text) __CPROVER_assume(condition)
#define STANDS_IN	       true
#else
#define NEEDS(condition, text) __CPROVER_assume(condition)
#define GIVES(condition, text) __CPROVER_assert(condition, text)
#define STANDS_IN	       false
#endif

/* What no link of the chain needs of a stage is not assumed: to assume less is sound, and the formula is smaller. The
 * state of the axes is in it: the next stage needs it in the same words. */
#define GIVES_BESIDE(condition, text)                                                                        \
	do {                                                                                                 \
		if (!STANDS_IN)                                                                              \
			GIVES(condition, text);                                                              \
	} while (0)

void sense_needs(const struct td_step *step);
void sense_gives(const struct td_step *step, const struct td_core *old);

/* td_order() and td_order_stop_input(), which follow each other, as one. */
void order_needs(const struct td_step *step);
void order_gives(const struct td_step *step, const struct td_core *old);

void watch_needs(const struct td_step *step, uint8_t axis);
void watch_gives(const struct td_step *step, uint8_t axis, const struct td_core *old);

void ask_needs(const struct td_step *step);
void ask_gives(const struct td_step *step, const struct td_core *old);

void due_needs(const struct td_step *step, uint8_t axis);
void due_gives(const struct td_step *step, uint8_t axis, const struct td_core *old);

/* td_cable_drive() and td_cable_feel(): they need nothing and change nothing but the count of the twist. */
void count_gives(const struct td_step *step, const struct td_core *old);

/* td_cable_watch() */
void twist_needs(const struct td_step *step);
void twist_gives(const struct td_step *step, const struct td_core *old);

/* --- shared by the contracts (contract.c) --- */

/* R1, R3: no power rises, nobody gets a hold, and what is cut is recorded. */
void gives_no_power(const struct td_step *step, uint8_t axis, const struct td_core *old);

/* R4: time spent is not given back. */
void gives_no_stroke(const struct td_step *step, uint8_t axis, const struct td_core *old);

/* Nothing of this axis is changed. */
void gives_same_axis(const struct td_step *step, uint8_t axis, const struct td_core *old);
void gives_same_switches(const struct td_step *step, const struct td_core *old);
void gives_same_machine(const struct td_step *step, const struct td_core *old);

#endif
