/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/support/scenario_parts.h"

static char text[200];

static td_ns ms_of(const char *word)
{
	return (td_ns)(strtod(word, NULL) * 1e6 + 0.5);
}

static const char *do_rattle(struct script *script, char **word)
{
	uint8_t sw = switch_of(word[1]);

	if (sw == TD_NO_SWITCH || !word[2] || !word[3] || !word[4] || !word[5])
		return "rattle SW every MS until MS";
	return script_rattle(script, sw, ms_of(word[3]), ms_of(word[5])) == 0 ? NULL : script->why;
}

static const char *do_travel(struct script *script, char **word)
{
	uint8_t axis = axis_of(word[1]);
	uint8_t way = way_of(axis, word[1] ? word[2] : NULL);

	if (way >= TD_WAYS || !word[3] || !word[4])
		return "travel AXIS WAY MS N";
	return script_travel(script, axis, way, ms_of(word[3]), strtol(word[4], NULL, 10)) == 0 ? NULL
												: script->why;
}

static const char *do_bar(struct script *script, char **word)
{
	static const char *const kinds[] = {"moving", "at-end", "off-end"};
	uint8_t axis = axis_of(word[1]);
	uint8_t way = axis < RULE_AXES ? way_of(axis, word[2]) : TD_NO_WAY;

	if (way >= TD_WAYS || !word[3] || !word[4])
		return "bar AXIS WAY (moving|at-end|off-end) AXIS [WAY]";
	struct td_way_rules *rules = &script->rules.axis[axis].way[way];

	rules->bars = 1;
	rules->bar[0].kind = (enum td_bar_kind)index_of(kinds, 3, word[3], UINT8_MAX);
	rules->bar[0].axis = axis_of(word[4]);
	rules->bar[0].way = way_of(axis_of(word[4]), word[5]);
	return td_rules_check(&script->rules).fault == TD_RULES_OK ? NULL : "no such rule";
}

static const char *do_nobody(struct script *script, char **word)
{
	uint8_t sw = switch_of(word[1]);

	return sw != TD_NO_SWITCH && script_nobody(script, sw) ? NULL : "nobody SW";
}

static const char *check_count(struct script *script, char **word)
{
	unsigned long count = 0;

	if (!word[1] || !word[2])
		return "count CAUSE N";
	for (size_t i = 0; i < script->entries; i++)
		count += strcmp(td_cause_info(script->entry[i].news.cause)->name, word[1]) == 0;
	(void)snprintf(text, sizeof(text), "happened %lu times", count);
	return count == strtoul(word[2], NULL, 10) ? NULL : text;
}

static const char *check_slower(struct script *script, char **word)
{
	struct td_axis_view view;
	uint8_t axis = axis_of(word[1]);
	uint8_t way = way_of(axis, word[1] ? word[2] : NULL);

	if (way >= TD_WAYS || !word[3])
		return "slower AXIS WAY PERCENT|unknown [warned]";
	td_core_view(&script->core, &script->rules, axis, script->core.now_ns, &view);
	bool unknown = strcmp(word[3], "unknown") == 0;
	long expected = unknown ? TD_NO_TREND : lround(strtod(word[3], NULL) * 10000);
	bool warned = word[4] && strcmp(word[4], "warned") == 0;

	(void)snprintf(text, sizeof(text), "is %d ppm, warned: %d", view.slower_ppm[way], view.slower[way]);
	return labs(view.slower_ppm[way] - expected) <= (unknown ? 0 : 500) && view.slower[way] == warned
		       ? NULL
		       : text;
}

static const struct {
	const char *name;
	const char *(*run)(struct script *, char **);
} commands[] = {
	{"rattle", do_rattle}, {"travel", do_travel},  {"bar", do_bar},
	{"nobody", do_nobody}, {"count", check_count}, {"slower", check_slower},
};

const char *scenario_more(struct script *script, char **word)
{
	for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); i++)
		if (strcmp(commands[i].name, word[0]) == 0)
			return commands[i].run(script, word);
	return "no such command";
}
