/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_MONITOR_LEAN_H
#define TD_PROOF_UB_MONITOR_LEAN_H

#include "tests/proof/ub_monitor.h"

int32_t __CPROVER_file_local_monitor_cable_c_lean_of(td_ns spent_ns, td_ns reach_ns);

static inline bool reach_counts(td_ns reach_ns)
{
	return reach_ns >= TD_REACH_MIN_NS && reach_ns <= TD_REACH_MAX_NS;
}

#endif
