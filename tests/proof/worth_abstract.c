/* SPDX-License-Identifier: MIT */
/*
 * Stands in for worth() of lib/core/travel.c: a product and a quotient of 64 bits are beyond what the model
 * checker can do inside of a whole step. All that the step may rely on is stated here; prove_worth.c shows
 * that the real one keeps it.
 *
 * In one step an axis has one run, so all questions about it are the same one, and get the same answer.
 */
#include "core/travel.h"

#include <stddef.h>

#include "tests/proof/proof.h"

#ifdef TD_PROVING
static struct {
	const struct td_axis_rules *rules;
	uint8_t way;
	td_ns span_ns;
	td_ns value_ns;
} asked[TD_AXES_MAX];

static td_ns answer(unsigned int axis, const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	if (asked[axis].rules == NULL) {
		asked[axis].rules = rules;
		asked[axis].way = way;
		asked[axis].span_ns = span_ns;
		asked[axis].value_ns = nondet_ns();
		ASSUME(asked[axis].value_ns >= 0 && asked[axis].value_ns <= rules->way[1 - way].reach_ns);
	}
	CLAIM(asked[axis].way == way && asked[axis].span_ns == span_ns,
	      "worth() is asked the same in one step");
	return asked[axis].value_ns;
}

td_ns __CPROVER_file_local_travel_c_worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns)
{
	CLAIM(span_ns >= 0 && way < TD_WAYS, "worth() is asked for a span and a way");
	for (unsigned int axis = 0; axis + 1 < TD_AXES_MAX; axis++)
		if (asked[axis].rules == rules || asked[axis].rules == NULL)
			return answer(axis, rules, way, span_ns);
	return answer(TD_AXES_MAX - 1, rules, way, span_ns);
}
#endif
