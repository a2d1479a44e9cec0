/* SPDX-License-Identifier: MIT */
/* The table of an axis and its model do the same, for any bytes as axis and input, and never both ways. */
#include "core/travel.h"
#include "tests/proof/axis_model.h"
#include "tests/proof/proof.h"

static bool same_record(const struct td_axis *a, const struct td_axis *b)
{
	return a->state == b->state && a->trip == b->trip && a->last_way == b->last_way &&
	       a->located == b->located && a->unwritten == b->unwritten &&
	       a->way_cut_ns[0] == b->way_cut_ns[0] && a->way_cut_ns[1] == b->way_cut_ns[1] && a->since_ns == b->since_ns && a->cut_ns == b->cut_ns &&
	       a->spent_ns[0] == b->spent_ns[0] && a->spent_ns[1] == b->spent_ns[1];
}

static bool same_hold(const struct td_axis *a, const struct td_axis *b)
{
	return a->hold.session == b->hold.session && a->hold.number == b->hold.number &&
	       a->hold.seq == b->hold.seq && a->hold.lease_end_ns == b->hold.lease_end_ns;
}

static bool is_held(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
}

static void compare(enum td_axis_state state, enum td_axis_event event, uint8_t way)
{
	struct td_axis_rules rules = nondet_rules().axis[0];
	struct td_axis_input input = nondet_axis_input();
	struct td_axis real = nondet_axis();

	real.state = state;
	real.way = way;
	input.event = event;
	ASSUME(real.spent_ns[0] >= 0 && real.spent_ns[1] >= 0 && real.since_ns >= 0 && input.now_ns >= 0);

	proof_travel_of(0, &rules, &real, input.now_ns);

	struct td_axis model = real;

	if (!is_held(&real))
		model.way = nondet_byte();
	enum td_axis_action did = td_axis_apply(&real, &rules, &input);
	enum td_axis_action should = axis_model_possible(&model, &input)
					     ? axis_model_apply(&model, &rules, &input)
					     : axis_model_fail(&model, &rules, input.now_ns);

	CLAIM(did == should, "the model does what the table says");
	CLAIM(same_record(&real, &model), "the model leaves the same axis");
	CLAIM(is_held(&real) ? real.way == model.way : real.way == TD_NO_WAY,
	      "a way is named where one is held");
	CLAIM(same_hold(&real, &model), "the model leaves the same hold");
	CLAIM(td_axis_outputs(&real) != 3, "R1: no state has both inputs");
	CLAIM(real.state == TD_AXIS_RUN || td_axis_outputs(&real) == 0, "R1: only one state is powered");
}

/* PROOF_STATE by itself with every event and way, and one of each that does not exist. */
int main(void)
{
	for (unsigned int event = 0; event <= TD_AXIS_EVENTS; event++)
		for (uint8_t way = 0; way <= TD_WAYS; way++)
			compare(PROOF_STATE, (enum td_axis_event)event, way);
	return 0;
}
