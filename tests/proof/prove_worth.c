/* SPDX-License-Identifier: MIT */
/*
 * worth() of lib/core/travel.c keeps what worth_abstract.c promises for it: 0 to one reach of the other way, and
 * no overflow on the road (the checks of the model checker). The product of two numbers of thirty bits and its
 * quotient are too much for it in general, so the two reaches are given, at the ends and in the middle of their
 * range; the span is any.
 */
#include "tests/proof/proof.h"

td_ns __CPROVER_file_local_travel_c_worth(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns);

static const td_ns reaches_ns[] = {TD_REACH_MIN_NS, TD_REACH_MIN_NS + 999, TD_S(2) + 1, TD_REACH_MAX_NS - 1,
				   TD_REACH_MAX_NS};

enum { REACHES = sizeof(reaches_ns) / sizeof(reaches_ns[0]) };

static void prove(td_ns own_ns, td_ns other_ns)
{
	struct td_axis_rules rules = nondet_rules().axis[0];
	td_ns span_ns = nondet_ns();

	rules.way[0].reach_ns = own_ns;
	rules.way[1].reach_ns = other_ns;
	ASSUME(span_ns >= 0);

	td_ns worth_ns = __CPROVER_file_local_travel_c_worth(&rules, 0, span_ns);

	CLAIM(worth_ns >= 0, "a span is never worth less than nothing");
	CLAIM(worth_ns <= other_ns, "a span is never worth more than one reach");
}

int main(void)
{
	for (unsigned int own = 0; own < REACHES; own++)
		for (unsigned int other = 0; other < REACHES; other++)
			prove(reaches_ns[own], reaches_ns[other]);
	return 0;
}
