/* SPDX-License-Identifier: MIT */
/* Where the inductive step starts from. */
#ifndef TD_PROOF_START_H
#define TD_PROOF_START_H

#include "tests/proof/proof.h"

/*
 * Any rules that pass td_rules_check(), for TD_AXES_MAX axes and TD_SWITCHES_MAX = 2 * TD_AXES_MAX + 1
 * switches. Which switch has which number is fixed (axis * 2 + way; the stop input is the last), whether it
 * is used is not: another numbering would only rename them.
 */
struct td_rules proof_any_rules(void);

/* Any state that satisfies the invariant. */
struct td_core proof_any_core(const struct td_rules *rules);

#endif
