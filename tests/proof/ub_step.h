/* SPDX-License-Identifier: MIT */
/* A step in progress, for the harnesses of undefined behaviour of the parts of a step (lib/core/step.h). */
#ifndef TD_PROOF_UB_STEP_H
#define TD_PROOF_UB_STEP_H

#include "core/step.h"
#include "tests/proof/ub.h"

struct ub_step {
	struct td_rules rules;
	struct td_core core;
	struct td_event event;
	struct td_result result;
	struct td_step step;
	uint16_t lost;
};

extern struct ub_step ub;

/* Any rules, core and event that ub.h lets pass; an axis there is. */
uint8_t ub_step_any(void);

/* What was so is so again, and no more than `most` news came. */
void ub_step_claim(uint16_t most);

/* How much news the parts of a step can make; together less than fits into news_lost. */
enum { NEWS_OF_CUT = 1, NEWS_OF_TRIP = 2, NEWS_OF_AXIS = 16, NEWS_OF_MACHINE = 512, NEWS_LOST_MAX = 32000 };

/* A stand-in for a part of a step: claims what ub_step_any() gives, and leaves anything that ub_step_claim() lets pass. */
void ub_step_after(struct td_step *step, uint16_t most);

#endif
