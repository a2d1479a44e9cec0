/* SPDX-License-Identifier: MIT */
/* Any number as a cause. */
#include <stddef.h>

#include "core/cause.h"
#include "tests/proof/ub.h"

int main(void)
{
	enum td_cause cause = (enum td_cause)nondet_word();

	CLAIM(td_cause_info(cause) != NULL, "every number has words");
	td_cause_kind(cause);
	td_cause_visitor_resets(cause);
	td_cause_known(nondet_int());
	td_cause_at(nondet_word());
	REACHED();
	return 0;
}
