/* SPDX-License-Identifier: MIT */
/*
 * The deadline that a step returns is early enough: from any state a step may end with, at any time from then to just
 * before the earliest of the deadlines of switches and axis, time alone changes nothing: no filter decides, nothing is
 * cut, no rest and no wait is over. (Of who stands in the line of the supply prove_supply.c says the same.)
 */
#include "tests/proof/stage.h"

static bool stands_in_line(void)
{
	const struct td_axis *self = &stage.old.axis[0];

	return self->state == TD_AXIS_WAIT && rested(self, &stage.rules.axis[0], self->way, stage.old.now_ns);
}

static td_ns deadline(void)
{
	if (stage.core.axis[0].state == TD_AXIS_RUN)
		return td_watch_deadline(&stage.core, &stage.rules, 0);
	return td_time_earlier(td_sense_deadline(&stage.core, &stage.rules),
			       td_watch_deadline(&stage.core, &stage.rules, 0));
}

static void claim_filters(void)
{
	td_sense(&stage.step);
	CLAIM(stage.step.rose == 0, "R2: no end becomes active before the deadline");
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		CLAIM(same_switch(&stage.core.sw[sw], &stage.old.sw[sw]), "R2: no filter decides before the deadline");
}

int main(void)
{
	proof_stage_any();
	ASSUME(proof_bools(&stage.core) && proof_machine(&stage.core) && proof_settled(&stage.core, &stage.rules, 0));
	ASSUME(stage.core.axis[0].state == TD_AXIS_RUN || proof_filtered(&stage.core, &stage.rules));
	ASSUME(stage.core.axis[0].state != TD_AXIS_RUN || stage.core.duty_cut_ns[0] > stage.core.now_ns);

	td_ns until_ns = deadline();
	td_ns at_ns = nondet_ns();

	ASSUME(at_ns >= stage.core.now_ns && at_ns < until_ns && at_ns <= PROOF_HORIZON_NS);
	stage.event.kind = TD_EVENT_TIME;
	stage.core.now_ns = at_ns;
	stage.step.now_ns = at_ns;
	stage.step.rose = 0;
	proof_bars.quiet = true;
	if (stage.old.axis[0].state != TD_AXIS_RUN) /* of that the formula is large enough; switches know no states */
		claim_filters();
	td_watch(&stage.step, 0);
	CLAIM(same_axis(&stage.core.axis[0], &stage.old.axis[0]),
	      "R4, R5, R6, R7, R12: no limit, lease or duty is over before the deadline");
	if (stands_in_line())
		return 0;
	td_ask_due(&stage.step, 0);
	CLAIM(same_axis(&stage.core.axis[0], &stage.old.axis[0]), "R3: no pause is over before the deadline");
	return 0;
}
