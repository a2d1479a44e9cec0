/* SPDX-License-Identifier: MIT */
/* Inside of scenario_*.c: names to numbers, and commands beside those of scenario_run.c. */
#ifndef TD_TESTS_SCENARIO_PARTS_H
#define TD_TESTS_SCENARIO_PARTS_H

#include <string.h>

#include "tests/support/script.h"

static inline uint8_t index_of(const char *const *names, size_t count, const char *name, uint8_t none)
{
	for (size_t i = 0; name && i < count; i++)
		if (strcmp(names[i], name) == 0)
			return (uint8_t)i;
	return none;
}

static inline uint8_t axis_of(const char *name)
{
	return index_of(rule_names.axis, RULE_AXES, name, TD_NO_AXIS);
}

static inline uint8_t way_of(uint8_t axis, const char *name)
{
	return axis < RULE_AXES ? index_of(rule_names.way[axis], TD_WAYS, name, TD_NO_WAY) : TD_NO_WAY;
}

static inline uint8_t switch_of(const char *name)
{
	return index_of(rule_names.sw, RULE_SWITCHES, name, TD_NO_SWITCH);
}

/* Commands about what a machine does by itself; word[0] is the command. NULL if it was carried out and, of a check,
 * was so; else what is wrong, in a static buffer. */
const char *scenario_more(struct script *script, char **word);

#endif
