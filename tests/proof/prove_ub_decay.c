/* SPDX-License-Identifier: MIT */
/* Any numbers; what ub_decay.c says of the results is so. */
#include "core/decay.h"
#include "tests/proof/ub_decay.h"

static void claim_toward(void)
{
	uint64_t from = nondet_long();
	uint64_t target = nondet_long();
	uint64_t there = td_decay_toward(from, target, nondet_ns(), nondet_ns());

	CLAIM(there <= from || there <= target, "no farther than where it began or goes to");
	CLAIM(there <= TD_DECAY_AMOUNT_MAX, "no more than counts");
}

static void claim_factor(void)
{
	td_ns span_ns = nondet_ns();
	td_ns tau_ns = nondet_ns();
	uint64_t factor = td_decay(span_ns, tau_ns);

	CLAIM(factor <= TD_DECAY_ONE, "a factor of at most one");
	CLAIM(span_ns < 1 || factor <= TD_DECAY_ONE - LEAST_STEP, "a nanosecond makes a difference");
}

int main(void)
{
	claim_factor();
	uint64_t amount = nondet_long();
	uint64_t factor = nondet_long();
	uint64_t share = td_decay_share(amount, factor);

	CLAIM(share <= factor && (factor > TD_DECAY_ONE || share <= amount), "a share of at most all");
	claim_toward();
	REACHED();
	return 0;
}
