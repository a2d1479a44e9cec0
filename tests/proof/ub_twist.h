/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_TWIST_H
#define TD_PROOF_UB_TWIST_H

#include "core/twist.h"
#include "tests/proof/ub.h"

struct td_twist nondet_twist(void);
struct td_twist_rules nondet_twist_rules(void);

#define LEFT_MAX INT64_C(5000000000000000000)

int64_t __CPROVER_file_local_twist_c_turned(int64_t rate_ppm_s, td_ns span_ns);
int64_t __CPROVER_file_local_twist_c_left_fturn(const struct td_twist *twist, const struct td_twist_rules *rules,
						int64_t rate);
td_ns __CPROVER_file_local_twist_c_used_up_ns(const struct td_twist_rules *rules, uint8_t way, int64_t rate, int64_t left);

static inline bool rate_counts(int64_t rate_ppm_s)
{
	return rate_ppm_s >= -TD_TWIST_RATE_MAX_PPM_S && rate_ppm_s <= TD_TWIST_RATE_MAX_PPM_S;
}

#endif
