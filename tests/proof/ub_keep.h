/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_KEEP_H
#define TD_PROOF_UB_KEEP_H

#include "core/keep.h"
#include "tests/proof/ub.h"

struct td_keep nondet_keep(void);

#endif
