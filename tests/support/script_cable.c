/* SPDX-License-Identifier: MIT */
/* The cable of R18 in a scenario. */
#include <stdlib.h>
#include <string.h>

#include "tests/support/script.h"

enum { BACK, AHEAD, LEFT = 0 };

double script_degrees(int64_t uturn)
{
	return (double)uturn * 360 / 1e6;
}

static void set_rates(struct td_twist_rules *twist, double circle_s)
{
	int32_t rate_ppm_s = (int32_t)(1e6 / circle_s + 0.5);

	twist->rate_ppm_s[AHEAD][TD_TWIST_LEFT] = twist->rate_ppm_s[BACK][TD_TWIST_RIGHT] = rate_ppm_s;
	twist->rate_ppm_s[AHEAD][TD_TWIST_RIGHT] = twist->rate_ppm_s[BACK][TD_TWIST_LEFT] = -rate_ppm_s;
}

/* Its two contacts are taken from the vent and from the emergency stop. */
static void set_sensor(struct td_rules *rules, char *steps)
{
	rules->cable.twist.steps_per_turn = (int32_t)strtol(steps, NULL, 10);
	rules->cable.contact[0] = RULE_OPEN;
	rules->cable.contact[1] = RULE_STOP;
	rules->stop_switch = TD_NO_SWITCH;
	rules->axis[RULE_VENT].way[1].end_switch = TD_NO_SWITCH;
	rules->axis[RULE_VENT].way[1].early_ns = 0;
}

int script_cable_rule(struct script *script, char **word)
{
	struct td_cable_rules *cable = &script->rules.cable;

	if (!word[1] || !word[2] || !word[3] || !word[4])
		return -1;
	cable->twist.source = strcmp(word[1], "sensor") == 0 ? TD_TWIST_SENSOR : TD_TWIST_ESTIMATE;
	cable->twist.limit_uturn = (int32_t)(strtod(word[2], NULL) * 1e6 / 360);
	set_rates(&cable->twist, strtod(word[3], NULL));
	if (cable->twist.source == TD_TWIST_SENSOR)
		set_sensor(&script->rules, word[4]);
	else
		cable->twist.doubt_ppm = (uint32_t)(strtod(word[4], NULL) * 1e4);
	cable->drive = RULE_DRIVE;
	cable->steering = RULE_WHEEL;
	cable->left = LEFT;
	cable->springs = word[5] && strcmp(word[5], "springs") == 0;
	return td_rules_check(&script->rules).fault == TD_RULES_OK ? 0 : -1;
}
