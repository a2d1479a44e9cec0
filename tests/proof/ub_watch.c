/* SPDX-License-Identifier: MIT */
/* Stands in for the questions of lib/core/watch.c, as the harness `stage 4` asks them: any answer. */
#include "tests/proof/ub_step.h"

bool td_watch_leave_over(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	CLAIM(axis < rules->axes && way < TD_WAYS && core->now_ns >= 0, "it is asked for a way of an axis");
	return nondet_bool();
}

bool td_watch_both_ends(const struct td_core *core, const struct td_rules *rules, uint8_t axis)
{
	(void)core;
	CLAIM(axis < rules->axes, "it is asked for an axis");
	return nondet_bool();
}
