/* SPDX-License-Identifier: MIT */
/*
 * Stands in for td_travel_deadline() and td_travel_spent() of lib/core/travel.c where a run is asked for the moment at which it
 * will have spent so much, and later for what it has spent: any answers of which is true what prove_spent.c proves of the
 * real ones, that until that moment it is less.
 */
#include "core/travel.h"
#include "tests/proof/proof.h"

enum { TOLD_MAX = 4 };

static struct {
	td_ns limit_ns;
	td_ns deadline_ns;
} told[TOLD_MAX];

static unsigned int told_count;

static bool runs(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN && axis->way < TD_WAYS && axis->since_ns >= 0 &&
	       axis->spent_ns[axis->way] >= 0;
}

td_ns td_travel_deadline(const struct td_axis *axis, td_ns limit_ns)
{
	td_ns deadline_ns = nondet_ns();

	CLAIM(runs(axis) && told_count < TOLD_MAX, "the moment is asked of a run");
	told[told_count].limit_ns = limit_ns;
	told[told_count++].deadline_ns = deadline_ns;
	return deadline_ns;
}

td_ns td_travel_spent(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way,
		      td_ns now_ns)
{
	td_ns spent_ns = nondet_ns();

	(void)rules;
	CLAIM(runs(axis) && axis->way == way && now_ns >= axis->since_ns,
	      "what is spent is asked of a run, in its way");
	for (unsigned int i = 0; i < told_count; i++)
		ASSUME(now_ns >= told[i].deadline_ns || spent_ns < told[i].limit_ns);
	return spent_ns;
}
