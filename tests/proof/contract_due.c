/* SPDX-License-Identifier: MIT */
#include "core/travel.h"
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

void due_needs(const struct td_step *step, uint8_t axis)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns,
	      "the machine is as it must be");
	NEEDS(proof_safe(step->core, step->rules, axis), "the axis is safe");
}

/* The only place where power rises. */
static void start_given(const struct td_step *step, uint8_t axis, uint8_t way_on, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];
	const struct td_axis_rules *rules = &step->rules->axis[axis];
	const struct td_way_rules *way = &rules->way[way_on];

	GIVES(was->state == TD_AXIS_WAIT && was->way == way_on && same_holder(was, is), "R11: power rises for who waits");
	GIVES(passed(is->way_cut_ns[1 - way_on], step->now_ns, rules->dead_ns), "R3: dead time since the other way");
	GIVES(passed(is->way_cut_ns[way_on], step->now_ns, rules->rest_ns), "R3: rest since the same way");
	GIVES(is->since_ns == step->now_ns, "R3: a start is recorded");
	GIVES(is->way_cut_ns[0] == was->way_cut_ns[0] && is->way_cut_ns[1] == was->way_cut_ns[1] &&
		      is->last_way == was->last_way && is->cut_ns == was->cut_ns && is->unwritten == was->unwritten,
	      "R3: a start forgets no cut");
	GIVES(!maybe_active(old, way->end_switch), "R2: no start toward an end that may be active");
	GIVES_BESIDE(is->spent_ns[way_on] < way->limit_ns, "R4, R6: no start without stroke");
	GIVES_BESIDE(!active(old, rules->way[1 - way_on].end_switch) || is->spent_ns[way_on] < way->leave_ns,
	      "R5: no start away from an end that should have cleared");
	GIVES(!locked(old, axis, way_on), "R11: no start of a locked way");
	GIVES(old->armed, "R14: no start before arming");
	GIVES(old->latch == 0, "R10: no start while latched");
	GIVES(is->hold.lease_end_ns > step->now_ns, "R7: no start without lease");
}

static void rest_given(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	GIVES(same_record(was, is), "R3: without start or cut the record stays");
	GIVES(was->state != TD_AXIS_RUN || is->state == TD_AXIS_RUN, "what runs goes on");
	GIVES(is->state != TD_AXIS_RUN || powered(was, is->way), "R1: one way is never followed by the other");
	GIVES(!held(is) || (held(was) && was->way == is->way && was->state == is->state), "R11: nobody gets a hold");
}

void due_gives(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	GIVES(proof_bools(step->core), "a bool stays one");
	GIVES_BESIDE(proof_settled(step->core, step->rules, axis), "R2-R8: what is powered or waits is so by the rules");
	GIVES(is->state != TD_AXIS_RUN || is->way < TD_WAYS, "R1: a way is powered, or none");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (powered(is, way) && was->state != TD_AXIS_RUN)
			start_given(step, axis, way, old);
	if (is->state != TD_AXIS_RUN || was->state == TD_AXIS_RUN)
		rest_given(step, axis, old);
	if (was->state == TD_AXIS_TRIPPED)
		GIVES(same_axis(was, is), "R11: a trip stays");
	GIVES(is->trip != TD_CAUSE_INTERNAL || was->trip == TD_CAUSE_INTERNAL, "R11: no impossible combination is met");
	GIVES(same_holder(was, is) && was->hold.seq == is->hold.seq, "R11: who held it last is not forgotten");
	GIVES(!held(is) || was->hold.lease_end_ns == is->hold.lease_end_ns, "R7: a start makes no lease longer");
	if (!STANDS_IN && is->state != TD_AXIS_TRIPPED)
		gives_no_stroke(step, axis, old);
	gives_same_switches(step, old);
	gives_same_machine(step, old);
	GIVES(step->core->stop_ns[axis] == old->stop_ns[axis], "R7: a stop is not forgotten");
	for (uint8_t other = 0; other < TD_AXES_MAX; other++)
		if (other != axis)
			gives_same_axis(step, other, old);
}
