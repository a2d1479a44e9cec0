/* SPDX-License-Identifier: MIT */
/*
 * Stands in for td_travel_spent() of lib/core/travel.c, which adds up what an axis has spent and, by a product and
 * a quotient, what going back gives back. In one stage an axis has one run, so all questions about it are the
 * same one and get the same answer: in the way of the run, the time spent before and the run; in the other one, what
 * was spent less anything up to all of it. prove_travel.c shows that the real one answers so.
 */
#include "core/travel.h"
#include "tests/proof/proof.h"

/* The run of a stage, and what it makes of the time spent: as it was, or after the end behind was touched. */
struct run {
	const struct td_axis_rules *rules;
	td_ns now_ns;
	td_ns since_ns;
	uint8_t way;
	struct {
		td_ns before_ns[TD_WAYS];
		td_ns spent_ns[TD_WAYS];
	} from[2];
};

static struct run runs[TD_AXES_MAX];

static void any_answer(struct run *run, unsigned int from, td_ns span_ns)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		td_ns before_ns = run->from[from].before_ns[way];

		run->from[from].spent_ns[way] = nondet_ns();
		if (way == run->way)
			ASSUME(run->from[from].spent_ns[way] == td_time_after(before_ns, span_ns));
		else
			ASSUME(run->from[from].spent_ns[way] >= 0 && run->from[from].spent_ns[way] <= before_ns);
	}
}

void proof_travel_of(uint8_t index, const struct td_axis_rules *rules, const struct td_axis *axis, td_ns now_ns)
{
	struct run *run = &runs[index];

	run->rules = rules;
	run->now_ns = now_ns;
	run->since_ns = axis->since_ns;
	run->way = axis->way;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		const struct td_way_rules *there = &rules->way[way];

		run->from[0].before_ns[way] = axis->spent_ns[way];
		run->from[1].before_ns[way] = there->end_switch == TD_NO_SWITCH ? there->limit_ns : there->reach_ns;
		if (way == axis->way)
			run->from[1].before_ns[way] = 0;
	}
	for (unsigned int from = 0; from < 2; from++)
		any_answer(run, from, td_time_between(axis->since_ns, now_ns));
}

td_ns td_travel_spent(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way, td_ns now_ns)
{
	const struct run *run = &runs[0];

	if (way >= TD_WAYS)
		return 0;
	if (axis->state != TD_AXIS_RUN || axis->way >= TD_WAYS || now_ns <= axis->since_ns)
		return axis->spent_ns[way];
	for (uint8_t index = 1; index < TD_AXES_MAX; index++)
		if (runs[index].rules == rules)
			run = &runs[index];

	bool as_it_was = axis->spent_ns[way] == run->from[0].before_ns[way];

	CLAIM(axis->way == run->way && axis->since_ns == run->since_ns && now_ns == run->now_ns,
	      "time spent is asked about the run of this stage");
	CLAIM(as_it_was || axis->spent_ns[way] == run->from[1].before_ns[way], "time spent is set by an end only");
	return run->from[as_it_was ? 0 : 1].spent_ns[way];
}
