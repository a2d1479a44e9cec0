/* SPDX-License-Identifier: MIT */
/* Stands in for the parts of a step in td_core_step(): whatever their harnesses (`stage`) let pass. */
#include "tests/proof/ub_step.h"

void td_cable_drive(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

void td_sense(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
	step->rose = nondet_word();
}

void td_cable_feel(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

void td_order(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

void td_order_stop_input(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

void td_watch(struct td_step *step, uint8_t axis)
{
	CLAIM(axis < step->rules->axes, "an axis there is is watched");
	ub_step_after(step, NEWS_OF_AXIS);
}

void td_ask(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

void td_cable_watch(struct td_step *step)
{
	ub_step_after(step, NEWS_OF_MACHINE);
}

bool td_ask_due(struct td_step *step, uint8_t axis)
{
	CLAIM(axis < step->rules->axes, "an axis there is may be due");
	ub_step_after(step, NEWS_OF_AXIS);
	return nondet_bool();
}

td_ns td_sense_deadline(const struct td_core *core, const struct td_rules *rules)
{
	(void)rules;
	CLAIM(ub_core_ok(core), "the core is in order");
	return nondet_ns();
}

td_ns td_watch_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	CLAIM(axis < rules->axes, "an axis there is has a deadline");
	return td_sense_deadline(core, rules);
}

td_ns td_cable_deadline(const struct td_core *core, const struct td_rules *rules)
{
	return td_sense_deadline(core, rules);
}
