/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_WORTH_H
#define TD_PROOF_UB_WORTH_H

#include "tests/proof/ub.h"

td_ns __CPROVER_file_local_monitor_power_c_worth_at_most(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns);
td_ns __CPROVER_file_local_monitor_power_c_worth_at_least(const struct td_axis_rules *rules, uint8_t way, td_ns span_ns);

#endif
