/* SPDX-License-Identifier: MIT */
/* One stage of a step, from any state. Each prove_*.c of a stage is one run of it. */
#ifndef TD_PROOF_STAGE_H
#define TD_PROOF_STAGE_H

#include "core/step.h"
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"
#include "tests/proof/start.h"

struct proof_stage {
	struct td_rules rules;
	struct td_core core;
	struct td_core old; /* as the stage met it */
	struct td_event event;
	struct td_result result;
	struct td_step step;
};

extern struct proof_stage stage;

/* Any rules that pass the check, any state, any event. What the stage needs is to be assumed next. */
void proof_stage_any(void);

/* The stage produces no more news than this; all stages together stay within TD_NEWS_MAX. */
void proof_stage_news(uint16_t most);

#endif
