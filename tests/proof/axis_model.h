/* SPDX-License-Identifier: MIT */
/*
 * td_axis_apply() said a second time, short enough to stand two dozen times in the formula of one step. It does
 * not read the table of lib/core/axis.c. prove_axis.c shows that both do the same for every axis, event and
 * time, so what is proven with this one holds for the real one. One thing differs: the real one names no way
 * where nothing is held, this one leaves the way as it is, for nobody looks at it there.
 */
#ifndef TD_PROOF_AXIS_MODEL_H
#define TD_PROOF_AXIS_MODEL_H

#include "core/axis.h"

/* The combination has a row in the table that is no failure. */
bool axis_model_possible(const struct td_axis *axis, const struct td_axis_input *input);

/* What happens to an impossible one. */
enum td_axis_action axis_model_fail(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns);

/* What happens to a possible one. */
enum td_axis_action axis_model_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				     const struct td_axis_input *input);

#endif
