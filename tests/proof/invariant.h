/* SPDX-License-Identifier: MIT */
/*
 * What holds in every state the core can be in: true after td_core_init(), and kept by every
 * td_core_step(). The proof by induction stands on it: everything that is claimed is claimed for any
 * state of this kind, reachable or not.
 */
#ifndef TD_PROOF_INVARIANT_H
#define TD_PROOF_INVARIANT_H

#include "core/core.h"

/* 146 years after the clock began; sums with it need not saturate. */
#define PROOF_HORIZON_NS (TD_NEVER / 2)

/* `rules` has passed td_rules_check(). */
bool proof_invariant(const struct td_core *core, const struct td_rules *rules);

/* A bool is 0 or 1; any other byte would be a broken program. */
bool proof_bools(const struct td_core *core);

#endif
