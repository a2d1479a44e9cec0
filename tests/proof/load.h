/* SPDX-License-Identifier: MIT */
/* For load_abstract.c: what duty and supply answered last. Nothing asked is a no. */
#ifndef TD_PROOF_LOAD_H
#define TD_PROOF_LOAD_H

#include "core/duty.h"
#include "core/supply.h"

struct proof_load {
	td_ns cut_ns;       /* R12: a powered axis has to be cut then */
	bool duty_free;     /* R12: a start is within the duty */
	bool supply_grants; /* R13 */
};

extern struct proof_load proof_load;

#endif
