/* SPDX-License-Identifier: MIT */
/* Puts the model of axis_model.h in the place of the real td_axis_apply(). */
#include "tests/proof/axis_model.h"

enum td_axis_action td_axis_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				  const struct td_axis_input *input)
{
	return axis_model_apply(axis, rules, input);
}
