/* SPDX-License-Identifier: MIT */
#include "tests/proof/contract.h"

#include "core/travel.h"
#include "tests/proof/look.h"

static void gives_cut_recorded(const struct td_step *step, const struct td_axis *was, const struct td_axis *is)
{
	GIVES(is->last_way == was->way && is->cut_ns == step->now_ns && is->unwritten,
	      "R3: a cut is recorded with its time and way");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(is->way_cut_ns[way] == (was->way == way ? step->now_ns : was->way_cut_ns[way]),
		      "R3: the record of each way by itself");
	GIVES(is->since_ns == was->since_ns, "R3: the start stays on record");
}

void gives_no_power(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	GIVES(is->state != TD_AXIS_RUN || powered(was, is->way), "R1, R11: nothing is powered that was not");
	if (was->state == TD_AXIS_RUN && is->state != TD_AXIS_RUN)
		gives_cut_recorded(step, was, is);
	else
		GIVES(same_record(was, is), "R3: without a cut the record stays");
}

void gives_no_stroke(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct td_axis *was = &old->axis[axis];
	const struct td_axis *is = &step->core->axis[axis];

	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(td_travel_spent(is, &step->rules->axis[axis], way, step->now_ns) >=
			      td_travel_spent(was, &step->rules->axis[axis], way, step->now_ns),
		      "R4, R6: time spent is not given back");
}

void gives_same_axis(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	GIVES(same_axis(&step->core->axis[axis], &old->axis[axis]), "an axis that is not meant is not touched");
	GIVES(step->core->stop_ns[axis] == old->stop_ns[axis], "nor is its last stop");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		GIVES(locked(step->core, axis, way) == locked(old, axis, way), "R11: nor are its locks");
	GIVES(step->core->duty[axis].powered == old->duty[axis].powered &&
		      step->core->supply.axis[axis].state == old->supply.axis[axis].state,
	      "nor what duty and supply know of it");
}

void gives_same_switches(const struct td_step *step, const struct td_core *old)
{
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		GIVES(same_switch(&step->core->sw[sw], &old->sw[sw]), "R9: a switch changes by being read only");
}

void gives_same_machine(const struct td_step *step, const struct td_core *old)
{
	GIVES(step->core->now_ns == old->now_ns && step->core->now_ns == step->now_ns, "time stays within a step");
	GIVES(step->core->armed == old->armed && step->core->levels_known == old->levels_known &&
		      step->core->latch == old->latch,
	      "the machine stays as it is");
	GIVES((old->locked & ~step->core->locked) == 0, "R11: a lock is not lost");
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		GIVES(step->core->chatter[sw].marked == old->chatter[sw].marked, "R8: a contact is not forgiven");
}
