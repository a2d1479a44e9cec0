/* SPDX-License-Identifier: MIT */
/* What the proofs share: the words to assume and to claim, and any bytes of a type. */
#ifndef TD_PROOF_H
#define TD_PROOF_H

#include "core/core.h"

#define CLAIM(condition, text) __CPROVER_assert(condition, text)
#define ASSUME(condition)      __CPROVER_assume(condition)

/* For travel_abstract.c: the run of an axis that a stage ends, or goes on with, at `now_ns`. */
void proof_travel_of(uint8_t index, const struct td_axis_rules *rules, const struct td_axis *axis, td_ns now_ns);

/* For bar_abstract.c: what was answered last; nothing asked is a no. `quiet`: no other axis is in the way. */
struct proof_bars {
	bool blocked[TD_WAYS];
	bool disturbs;
	bool quiet;
};

extern struct proof_bars proof_bars;

/* For count_abstract.c: what the cable said last of each way (R18); nothing asked is a no. */
extern bool proof_twisted[TD_WAYS];

/* R11: any set of causes, but always the same one. */
bool __CPROVER_uninterpreted_visitor_resets(int cause);

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
