/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/cause.c, whose harness is `words`. */
#include "core/cause.h"
#include "tests/proof/ub.h"

enum td_cause_kind td_cause_kind(enum td_cause cause)
{
	(void)cause;
	return (enum td_cause_kind)nondet_word();
}

bool td_cause_visitor_resets(enum td_cause cause)
{
	(void)cause;
	return nondet_bool();
}
