/* SPDX-License-Identifier: MIT */
/* The rules a proof starts from. */
#ifndef TD_PROOF_START_H
#define TD_PROOF_START_H

#include "tests/proof/proof.h"

/*
 * Any rules that pass td_rules_check(), for TD_AXES_MAX axes and TD_SWITCHES_MAX = 2 * TD_AXES_MAX + 1
 * switches. Bit axis * 2 + way of `ends`: this way has an end switch, and it is the switch of that number;
 * another numbering would only rename them. The last switch is the stop input; not having one is the same as
 * one that is never active.
 */
struct td_rules proof_any_rules(unsigned int ends);

#endif
