/* SPDX-License-Identifier: MIT */
#include "tests/proof/stage.h"

/* A run is given the end switches there are, and can be given state and way of axis 0, and the axis and way that
 * the event names: with them fixed the formula is smaller. tests/proof/inside lists the runs; together they are all there is. */
#ifndef PROOF_ENDS
#define PROOF_ENDS nondet_word()
#endif

struct proof_stage stage;

static void fix_state(struct td_axis *axis)
{
	(void)axis;
#ifdef PROOF_STATE
	axis->state = PROOF_STATE;
	axis->way = PROOF_WAY;
	if (PROOF_STATE != TD_AXIS_TRIPPED)
		axis->trip = TD_CAUSE_NONE;
#endif
}

void proof_stage_any(void)
{
	stage.rules = proof_any_rules(PROOF_ENDS);
	stage.core = nondet_core();
	stage.event = nondet_event();
	stage.step = (struct td_step){.core = &stage.core,
				      .rules = &stage.rules,
				      .event = &stage.event,
				      .result = &stage.result,
				      .now_ns = stage.core.now_ns,
				      .rose = nondet_word()};
	fix_state(&stage.core.axis[0]);
#ifdef PROOF_NAMED
	stage.event.axis = PROOF_NAMED;
#endif
#ifdef PROOF_ASKED
	stage.event.way = PROOF_ASKED;
#endif
	stage.old = stage.core;
#ifndef PROOF_WHOLE
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		proof_travel_of(axis, &stage.rules.axis[axis], &stage.core.axis[axis], stage.core.now_ns);
#endif
}

void proof_stage_news(uint16_t most)
{
	CLAIM(stage.result.news_count <= most && stage.result.news_lost == 0, "no news is lost");
}
