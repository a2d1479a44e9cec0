/* SPDX-License-Identifier: MIT */
/*
 * What holds of a state of the core. Between two steps that is proof_invariant(): true after td_core_init(), and
 * kept by every td_core_step(). The proof by induction stands on it: everything that is claimed is claimed for
 * any state of this kind, reachable or not. Within a step less holds, and it comes back stage by stage:
 *
 *     proof_kept()     of an axis, at any moment
 *     proof_safe()     after td_watch(): nothing is powered or waits against a rule
 *     proof_settled()  after td_ask_due(): no rest is overdue either, and who is due waits for the supply only
 */
#ifndef TD_PROOF_INVARIANT_H
#define TD_PROOF_INVARIANT_H

#include "core/core.h"

/* 146 years after the clock began; sums with it need not saturate. */
#define PROOF_HORIZON_NS (TD_NEVER / 2)

bool proof_kept(const struct td_core *core, const struct td_rules *rules, uint8_t axis);
bool proof_safe(const struct td_core *core, const struct td_rules *rules, uint8_t axis);
bool proof_settled(const struct td_core *core, const struct td_rules *rules, uint8_t axis);

/* A cut that is not yet written was made in this step. */
bool proof_fresh(const struct td_core *core, uint8_t axis);

/* Time, latch and arming are what they can be. */
bool proof_machine(const struct td_core *core);

/* An emergency-stop input that is active or chatters has latched. */
bool proof_input_latched(const struct td_core *core, const struct td_rules *rules);

/* Every level was read in the past. */
bool proof_levels_past(const struct td_core *core);

/* A filter that is due has decided. */
bool proof_filtered(const struct td_core *core, const struct td_rules *rules);

/* Every axis there is can be looked at with one of the functions above. */
bool proof_every_axis(const struct td_core *core, const struct td_rules *rules,
		      bool (*holds)(const struct td_core *core, const struct td_rules *rules, uint8_t axis));

/* All of it. `rules` has passed td_rules_check(). */
bool proof_invariant(const struct td_core *core, const struct td_rules *rules);

/* The caller's part of the contract: after a step that cut something comes TD_EVENT_WRITTEN and nothing else, and
 * time stays below the horizon. */
bool proof_event_due(const struct td_core *core, const struct td_event *event);

/* A bool is 0 or 1; any other byte would be a broken program. */
bool proof_bools(const struct td_core *core);

#endif
