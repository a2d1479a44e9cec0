/* SPDX-License-Identifier: MIT */
/*
 * The induction: any rules that pass the check, any state of the invariant, any event: the real td_core_step(), with
 * each stage as its contract, calls no stage that cannot be called, keeps the invariant, and keeps the rules.
 */
#include "tests/proof/stage.h"

static bool on(uint8_t axis, uint8_t way)
{
	return (stage.result.outputs >> (axis * TD_WAYS + way) & 1) != 0;
}

static void claim_outputs(uint8_t axis)
{
	const struct td_axis *was = &stage.old.axis[axis];
	const struct td_axis *is = &stage.core.axis[axis];

	CLAIM(!(on(axis, 0) && on(axis, 1)), "R1: never both inputs of a bridge");
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		CLAIM(!(powered(was, way) && on(axis, (uint8_t)(1 - way))), "R1: one step never goes from way to way");
		CLAIM(on(axis, way) == powered(is, way), "R1: the outputs are those of the state");
	}
}

/* This way is high after the step. */
static void claim_powered(uint8_t axis, uint8_t way)
{
	const struct td_axis *is = &stage.core.axis[axis];
	const struct td_way_rules *rules = &stage.rules.axis[axis].way[way];
	const struct td_core *core = &stage.core;

	CLAIM(!active(core, rules->end_switch), "R2: no power toward an active end");
	CLAIM(is->hold.lease_end_ns > core->now_ns, "R7: no power after the lease");
	CLAIM(is->hold.lease_end_ns - core->now_ns <= TD_LEASE_MAX_NS, "R7: no lease beyond the longest");
	CLAIM(core->latch == 0, "R10: latched is off");
	CLAIM(is->state != TD_AXIS_TRIPPED, "R11: tripped is off");
	CLAIM(core->armed && stage.old.armed, "R14: not armed is off, and arming moves nothing");
	CLAIM(!event_is(&stage.step, TD_EVENT_LINES_LOST), "R15: lost lines are off");
	CLAIM(!event_is(&stage.step, TD_EVENT_RESET) || held(&stage.old.axis[axis]), "R11: a reset moves nothing");
}

/* It was low before. */
static void claim_start(uint8_t axis, uint8_t way)
{
	const struct td_axis *was = &stage.old.axis[axis];
	const struct td_axis *is = &stage.core.axis[axis];
	const struct td_axis_rules *rules = &stage.rules.axis[axis];
	bool asked = event_is(&stage.step, TD_EVENT_REQUEST) && stage.event.seq == 0 && stage.event.axis == axis &&
		     stage.event.way == way;

	CLAIM(passed(was->way_cut_ns[1 - way], stage.core.now_ns, rules->dead_ns), "R3: dead time since the other way");
	CLAIM(passed(was->way_cut_ns[way], stage.core.now_ns, rules->rest_ns), "R3: rest since the same way");
	CLAIM(!maybe_active(&stage.core, rules->way[way].end_switch), "R2: no start toward an end that may be active");
	CLAIM(asked || (was->state == TD_AXIS_WAIT && was->way == way && same_holder(was, is)),
	      "R11: power rises for a request only");
	CLAIM(was->state != TD_AXIS_TRIPPED, "R11: a trip is not followed by power");
}

static void claim_axis(uint8_t axis)
{
	const struct td_axis *was = &stage.old.axis[axis];
	const struct td_axis *is = &stage.core.axis[axis];

	claim_outputs(axis);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (on(axis, way))
			claim_powered(axis, way);
		if (on(axis, way) && !powered(was, way))
			claim_start(axis, way);
	}
	if (event_is(&stage.step, TD_EVENT_STOP) && (stage.event.axis == axis || stage.event.axis == TD_ALL_AXES))
		CLAIM(!held(is), "R7: a stop ends what it names");
	CLAIM(stage.core.stop_ns[axis] >= stage.old.stop_ns[axis], "R7: a stop is not forgotten");
	CLAIM(!(active(&stage.core, stage.rules.axis[axis].way[0].end_switch) &&
		active(&stage.core, stage.rules.axis[axis].way[1].end_switch)) ||
		      is->state == TD_AXIS_TRIPPED,
	      "R8: both ends at once trip");
	CLAIM(was->state != TD_AXIS_TRIPPED || is->state == TD_AXIS_TRIPPED ||
		      event_is(&stage.step, TD_EVENT_RESET),
	      "R11: only a reset clears a trip");
}

static void claim_machine(void)
{
	CLAIM(stage.core.now_ns >= stage.old.now_ns, "time does not run back");
	CLAIM(stage.result.outputs >> (stage.rules.axes * TD_WAYS) == 0, "R1: no output beyond the axes there are");
	CLAIM(stage.core.latch == 0 || stage.result.outputs == 0, "R10: latched is off");
	CLAIM((stage.old.latch & ~stage.core.latch) == 0 ||
		      (event_is(&stage.step, TD_EVENT_RESET) && stage.event.role == TD_ROLE_KEEPER &&
		       stage.event.axis == TD_ALL_AXES && stage.result.outputs == 0),
	      "R10: only a keeper's reset clears the latch, and it moves nothing");
	CLAIM(!event_is(&stage.step, TD_EVENT_LATCH) || (stage.core.latch != 0 && stage.result.outputs == 0),
	      "R10: the latched stop is off at once");
}

int main(void)
{
	proof_stage_any();
	ASSUME(proof_bools(&stage.core) && proof_invariant(&stage.core, &stage.rules));
	ASSUME(proof_event_due(&stage.core, &stage.event));
	td_core_step(&stage.core, &stage.rules, &stage.event, &stage.result);
	CLAIM(proof_bools(&stage.core) && proof_invariant(&stage.core, &stage.rules), "the invariant is kept");
	stage.step.now_ns = stage.core.now_ns;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		claim_axis(axis);
	claim_machine();
	return 0;
}
