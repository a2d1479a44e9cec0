/* SPDX-License-Identifier: MIT */
#include "core/travel.h"
#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

/* One axis before and after, for short. */
struct look {
	const struct td_step *step;
	const struct td_core *old;
	const struct td_axis *was;
	const struct td_axis *is;
	const struct td_axis_rules *rules;
};

void watch_needs(const struct td_step *step, uint8_t axis)
{
	NEEDS(proof_bools(step->core) && proof_machine(step->core) && step->now_ns == step->core->now_ns,
	      "the machine is as it must be");
	NEEDS(proof_kept(step->core, step->rules, axis) && proof_fresh(step->core, axis), "the axis is as it must be");
}

static td_ns spent_before(const struct look *look, uint8_t way)
{
	return td_travel_spent(look->was, look->rules, way, look->step->now_ns);
}

/* Cut so lately that it may still roll this way. */
static bool may_roll(const struct look *look, uint8_t way)
{
	return !passed(look->was->cut_ns, look->step->now_ns, look->rules->rest_ns) && look->was->last_way != 1 - way;
}

static void ends_given(const struct look *look, uint8_t way)
{
	const struct td_way_rules *own = &look->rules->way[way];
	bool located = look->was->located;

	if (!powered(look->was, way))
		return;
	GIVES(!active(look->old, own->end_switch) || look->is->state != TD_AXIS_RUN, "R2: an active end stops");
	if (rose(look->step, own->end_switch) && located && spent_before(look, way) < own->early_ns)
		GIVES(look->is->state == TD_AXIS_TRIPPED, "R8: an end too early trips");
	if (rose(look->step, look->rules->way[1 - way].end_switch) && !may_roll(look, (uint8_t)(1 - way)) &&
	    !(located && spent_before(look, way) < own->leave_ns))
		GIVES(look->is->state == TD_AXIS_TRIPPED, "R8: the wrong end trips");
}

static void limits_given(const struct look *look, uint8_t way)
{
	const struct td_way_rules *own = &look->rules->way[way];
	bool at_end = active(look->old, own->end_switch);
	bool over = spent_before(look, way) >= own->limit_ns;
	bool rose_behind = rose(look->step, look->rules->way[1 - way].end_switch);

	if (!powered(look->was, way) || at_end || rose(look->step, own->end_switch) || rose_behind)
		return;
	if (active(look->old, look->rules->way[1 - way].end_switch) && spent_before(look, way) >= own->leave_ns)
		GIVES(look->is->state == TD_AXIS_TRIPPED, "R5: an end that does not clear trips");
	if (over && own->end_switch != TD_NO_SWITCH)
		GIVES(look->is->state == TD_AXIS_TRIPPED, "R4: an end that is not reached trips");
	if (over)
		GIVES(look->is->state != TD_AXIS_RUN, "R6: a stroke that is used up cuts");
}

static void holds_given(const struct look *look)
{
	GIVES(!held(look->is) || (held(look->was) && same_holder(look->was, look->is) && look->was->way == look->is->way &&
				  look->was->state == look->is->state &&
				  look->was->hold.lease_end_ns == look->is->hold.lease_end_ns &&
				  look->was->hold.seq == look->is->hold.seq),
	      "R7: a hold goes on as it is, or ends");
	GIVES(same_holder(look->was, look->is) && look->was->hold.seq == look->is->hold.seq,
	      "R11: who held it last is not forgotten");
	if (look->step->now_ns >= look->was->hold.lease_end_ns)
		GIVES(!held(look->is), "R7: a lease that is over ends the hold");
	if (look->old->latch != 0)
		GIVES(!held(look->is), "R10: the latched stop ends the hold");
	if (!look->old->armed)
		GIVES(!held(look->is), "R14: not armed, nothing is held");
	if (look->was->state == TD_AXIS_TRIPPED)
		GIVES(look->is->state == TD_AXIS_TRIPPED && look->is->trip == look->was->trip,
		      "R11: a trip stays, with its first cause");
	GIVES(look->is->trip != TD_CAUSE_INTERNAL || look->was->trip == TD_CAUSE_INTERNAL,
	      "R11: no impossible combination is met");
}

/* No end, no trip and no limit says where the axis is. */
static bool place_untold(const struct look *look)
{
	bool told = look->is->state == TD_AXIS_TRIPPED;

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t end = look->rules->way[way].end_switch;

		told = told || active(look->old, end) || rose(look->step, end) ||
		       (powered(look->was, way) && end == TD_NO_SWITCH &&
			spent_before(look, way) >= look->rules->way[way].limit_ns);
	}
	return !told;
}

void watch_gives(const struct td_step *step, uint8_t axis, const struct td_core *old)
{
	const struct look look = {step, old, &old->axis[axis], &step->core->axis[axis], &step->rules->axis[axis]};

	GIVES(proof_bools(step->core), "a bool stays one");
	GIVES_BESIDE(proof_safe(step->core, step->rules, axis), "R2, R4-R8: what is powered is so by the rules");
	gives_no_power(step, axis, old);
	for (uint8_t way = 0; !STANDS_IN && way < TD_WAYS; way++) {
		ends_given(&look, way);
		limits_given(&look, way);
	}
	holds_given(&look);
	if (!STANDS_IN && place_untold(&look))
		gives_no_stroke(step, axis, old);
	gives_same_switches(step, old);
	gives_same_machine(step, old);
	GIVES(step->core->stop_ns[axis] == old->stop_ns[axis], "R7: a stop is not forgotten");
	for (uint8_t other = 0; other < TD_AXES_MAX; other++)
		if (other != axis)
			gives_same_axis(step, other, old);
}
