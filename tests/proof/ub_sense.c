/* SPDX-License-Identifier: MIT */
/* Stands in for the questions of lib/core/sense.c, which the harness `stage 0` asks about any switch: any answer. */
#include "tests/proof/ub_step.h"

bool td_sense_active(const struct td_core *core, uint8_t sw)
{
	(void)core;
	(void)sw;
	return nondet_bool();
}

bool td_sense_maybe_active(const struct td_core *core, uint8_t sw)
{
	return td_sense_active(core, sw);
}

bool td_sense_surely_active(const struct td_core *core, uint8_t sw)
{
	return td_sense_active(core, sw);
}

bool td_sense_chatters(const struct td_core *core, uint8_t sw)
{
	return td_sense_active(core, sw);
}

bool td_sense_restless(const struct td_core *core, const struct td_rules *rules, uint8_t sw)
{
	(void)rules;
	return td_sense_active(core, sw);
}

/* Nothing else looks at what it changes. */
void td_sense_forgive(struct td_core *core, uint8_t sw)
{
	(void)core;
	(void)sw;
}
