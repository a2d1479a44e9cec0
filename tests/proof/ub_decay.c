/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/decay.c: any factor and any amount within the bounds that the harness `decay` proves. */
#include "tests/proof/ub_decay.h"

uint64_t td_decay(td_ns span_ns, td_ns tau_ns)
{
	uint64_t factor = nondet_long();

	(void)tau_ns;
	ASSUME(factor <= TD_DECAY_ONE && (span_ns < 1 || factor <= TD_DECAY_ONE - LEAST_STEP));
	return factor;
}

uint64_t td_decay_share(uint64_t amount, uint64_t factor)
{
	uint64_t share = nondet_long();

	ASSUME(share <= factor && (factor > TD_DECAY_ONE || share <= amount));
	return share;
}

uint64_t td_decay_toward(uint64_t from, uint64_t target, td_ns span_ns, td_ns tau_ns)
{
	uint64_t there = nondet_long();

	(void)span_ns;
	(void)tau_ns;
	ASSUME((there <= from || there <= target) && there <= TD_DECAY_AMOUNT_MAX);
	return there;
}
