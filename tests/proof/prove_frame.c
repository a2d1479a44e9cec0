/* SPDX-License-Identifier: MIT */
/*
 * What a stage does for one axis leaves the other one as it is: two axes, any rules that pass the check, any state, any
 * event. So what is proven of an axis by itself holds beside others. PROOF_STAGE picks the stage; the one is axis 0. `apply` is
 * what all of them change an axis by; in the stages frame_abstract.c stands in for it.
 */
#include "tests/proof/stage.h"

enum { frame_apply, frame_watch, frame_due, frame_ask, frame_order };

static bool is_of_one_axis(const struct td_event *event)
{
	return event->kind == TD_EVENT_STOP || event->kind == TD_EVENT_RELEASE ||
	       event->kind == TD_EVENT_RESET;
}

enum { ONE, OTHER };

static void apply(void)
{
	const struct td_axis_input input = nondet_axis_input();

	td_power_apply(&stage.step, ONE, &input);
}

static void act(void)
{
	switch (PROOF_STAGE) {
	case frame_apply: apply(); break;
	case frame_watch: td_watch(&stage.step, ONE); break;
	case frame_due: td_ask_due(&stage.step, ONE); break;
	case frame_ask:
		stage.event.axis = ONE;
		td_ask(&stage.step);
		break;
	case frame_order:
	default:
		stage.event.axis = ONE;
		ASSUME(is_of_one_axis(&stage.event));
		td_order(&stage.step);
		break;
	}
}

int main(void)
{
	proof_stage_any();
	ASSUME(proof_bools(&stage.core) && proof_machine(&stage.core));
	act();
	gives_same_axis(&stage.step, OTHER, &stage.old);
	return 0;
}
