/* SPDX-License-Identifier: MIT */
/*
 * The rules, said once more about one step of the core: state before, event, state and outputs after. Each
 * function makes the claims of the rules in its name about one axis.
 */
#ifndef TD_PROOF_CLAIMS_H
#define TD_PROOF_CLAIMS_H

#include "tests/proof/proof.h"

void claim_r1_one_input(const struct proof_turn *turn);
void claim_r2_ends(const struct proof_turn *turn);
void claim_r3_pauses(const struct proof_turn *turn);
void claim_r4_r5_r6_limits(const struct proof_turn *turn);
void claim_r7_lease(const struct proof_turn *turn);
void claim_r7_stop(const struct proof_turn *turn);
void claim_r8_plausible(const struct proof_turn *turn);
void claim_r9_contacts(const struct proof_turn *turn);
void claim_r10_latch(const struct proof_turn *turn);
void claim_r11_trip(const struct proof_turn *turn);
void claim_r14_armed(const struct proof_turn *turn);
void claim_r15_lines(const struct proof_turn *turn);
void claim_r17_bars(const struct proof_turn *turn);
/* No rule of the rule book: deadlines lie ahead, no news is lost, time does not run back. */
void claim_bookkeeping(const struct proof_turn *turn);

/* All of the above. */
void claim_all(const struct proof_turn *turn);

#endif
