/* SPDX-License-Identifier: MIT */
/* Puts the model of axis_model.h in the place of the real td_axis_apply(), and claims that a step asks only for
 * what is possible. */
#include "tests/proof/axis_model.h"
#include "tests/proof/proof.h"

enum td_axis_action td_axis_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				  const struct td_axis_input *input)
{
	CLAIM(axis_model_possible(axis, input), "R11: no impossible combination is met");
	return axis_model_apply(axis, rules, input);
}
