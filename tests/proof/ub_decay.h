/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_DECAY_H
#define TD_PROOF_UB_DECAY_H

#include "core/decay.h"
#include "tests/proof/ub.h"

/* What a nanosecond takes a factor below one, at least. */
#define LEAST_STEP (UINT64_C(1) << 13)

#endif
