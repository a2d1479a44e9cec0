/* SPDX-License-Identifier: MIT */
/* Rules of R12 and R13 in a scenario. */
#include <stdlib.h>
#include <string.h>

#include "tests/support/script.h"

static td_ns ms(const char *word)
{
	return (td_ns)(strtod(word, NULL) * 1e6);
}

static uint32_t ma(const char *word)
{
	return (uint32_t)strtoul(word, NULL, 10);
}

static bool load_duty(struct td_duty_rules *duty, char **word)
{
	duty->inf_ppm = ma(word[2]) * 10000;
	duty->tau_on_ns = duty->tau_off_ns = TD_S(strtol(word[3], NULL, 10));
	duty->restart_ppm = ma(word[4]) * 10000;
	return true;
}

static bool load_allowance(struct td_duty_rules *duty, char **word)
{
	static const char *const spans[TD_BUDGET_SPANS] = {"minute", "ten-minutes", "day"};

	for (int span = 0; span < TD_BUDGET_SPANS; span++)
		if (strcmp(spans[span], word[2]) == 0) {
			duty->allowed_ns[span] = TD_S(strtol(word[3], NULL, 10));
			return true;
		}
	return false;
}

static bool load(struct td_rules *rules, uint8_t axis, char **word)
{
	size_t last = 0;

	while (word[last + 1])
		last++;
	if (strcmp(word[0], "supply") == 0 && last == 2) {
		rules->supply.budget_ma = ma(word[1]);
		rules->supply.gap_ns = ms(word[2]);
		return true;
	}
	if (axis >= RULE_AXES)
		return false;
	if (strcmp(word[0], "weight") == 0 && last == 4) {
		rules->supply.axis[axis] =
			(struct td_supply_axis_rules){ma(word[2]), ma(word[3]), ms(word[4])};
		return true;
	}
	if (strcmp(word[0], "duty") == 0 && last == 4)
		return load_duty(&rules->axis[axis].duty, word);
	return strcmp(word[0], "allow") == 0 && last == 3 && load_allowance(&rules->axis[axis].duty, word);
}

int script_load_rule(struct script *script, uint8_t axis, char **word)
{
	return load(&script->rules, axis, word) && td_rules_check(&script->rules).fault == TD_RULES_OK ? 0
												       : -1;
}
