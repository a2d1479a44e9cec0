/* SPDX-License-Identifier: MIT */
#include "tests/support/script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RENEW_EVERY_MS = 100 };

void script_init(struct script *script, const char *file, int line)
{
	memset(script, 0, sizeof(*script));
	script->file = file;
	script->line = line;
	script->rules = rule_cart();
	td_core_init(&script->core, &script->rules, 0);
	td_monitor_init(&script->monitor, &script->rules, 0);
}

static void broke(struct script *script, const char *what)
{
	if (!script->why[0])
		snprintf(script->why, sizeof(script->why), "%s", what);
}

static void check_rules(struct script *script, const struct td_event *event)
{
	struct td_verdict verdict;

	td_monitor_see(&script->monitor, &script->rules, event);
	if (td_monitor_judge(&script->monitor, &script->rules, script->core.now_ns, script->result.outputs,
			     &verdict))
		return;
	if (!script->why[0])
		snprintf(script->why, sizeof(script->why), "R%u: axis %u way %u: %s", verdict.rule,
			 verdict.axis, verdict.way, td_breach_info(verdict.breach)->sentence);
}

static void check_result(struct script *script)
{
	if (script->result.news_lost != 0)
		broke(script, "news were lost");
	if (script->result.deadline_ns <= script->core.now_ns)
		broke(script, "the deadline is not in the future");
}

static void log_news(struct script *script)
{
	for (uint16_t i = 0; i < script->result.news_count; i++) {
		if (script->entries == ENTRIES_MAX) {
			broke(script, "the log of the scenario is full");
			return;
		}
		script->entry[script->entries++] =
			(struct entry){script->core.now_ns, script->result.news[i]};
	}
}

/* Stepping again at the same time with nothing new changes nothing. */
static void check_settled(struct script *script)
{
	struct td_core again = script->core;
	struct td_result result;
	const struct td_event time = {.kind = TD_EVENT_TIME, .at_ns = script->core.now_ns};

	td_core_step(&again, &script->rules, &time, &result);
	if (result.outputs != script->result.outputs || result.news_count != 0)
		broke(script, "a second step at the same time changes something");
}

void script_event(struct script *script, struct td_event event)
{
	if (event.at_ns == 0)
		event.at_ns = script->core.now_ns;
	if (script->steps == 0 && script->watch && script->watch->begin)
		script->watch->begin(script->watch->ctx, script, &event);
	td_core_step(&script->core, &script->rules, &event, &script->result);
	script->steps++;
	if (script->watch && script->watch->step)
		script->watch->step(script->watch->ctx, script, &event);
	log_news(script);
	check_rules(script, &event);
	check_result(script);
	check_settled(script);
}

void script_levels(struct script *script)
{
	uint32_t levels = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&script->rules, sw, (script->active >> sw & 1) != 0))
			levels |= UINT32_C(1) << sw;
	script_event(script, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels});
}

void script_renew(struct script *script, uint8_t axis)
{
	struct held *held = &script->held[axis];

	script_event(script, (struct td_event){.kind = TD_EVENT_REQUEST,
					       .axis = axis,
					       .way = held->way,
					       .session = held->session,
					       .hold = held->hold,
					       .seq = ++held->seq,
					       .lease_ns = TD_MS(300)});
	held->next_ns = script->core.now_ns + TD_MS(RENEW_EVERY_MS);
}

static void let_go(struct script *script, uint8_t axis)
{
	const struct held *held = &script->held[axis];

	script_event(script, (struct td_event){.kind = TD_EVENT_RELEASE,
					       .axis = axis,
					       .session = held->session,
					       .hold = held->hold});
	script->held[axis].on = false;
}

static td_ns next_ns(const struct script *script)
{
	td_ns next = script->steps > 0 ? script->result.deadline_ns : TD_NEVER;

	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		if (script->held[axis].on)
			next = td_time_earlier(next, td_time_earlier(script->held[axis].next_ns,
								     script->held[axis].until_ns));
	return next;
}

/* Renews and lets go what is due now. */
static void act(struct script *script)
{
	td_ns now_ns = script->core.now_ns;

	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		struct held *held = &script->held[axis];

		if (held->on && now_ns >= held->until_ns)
			let_go(script, axis);
		else if (held->on && now_ns >= held->next_ns)
			script_renew(script, axis);
	}
}

int script_advance(struct script *script, td_ns to_ns)
{
	if (to_ns < script->core.now_ns)
		broke(script, "the time of the line is before the line above");
	for (td_ns at = next_ns(script); at <= to_ns && !script->why[0]; at = next_ns(script)) {
		script_event(script, (struct td_event){.kind = TD_EVENT_TIME, .at_ns = at});
		act(script);
	}
	if (to_ns > script->core.now_ns)
		script_event(script, (struct td_event){.kind = TD_EVENT_TIME, .at_ns = to_ns});
	return script->why[0] ? -1 : 0;
}

int script_rule(struct script *script, uint8_t axis, uint8_t way, uint8_t sw, char **word)
{
	size_t last = 0;

	while (word[last + 1])
		last++;
	if (last < 3)
		return -1;
	const char *key = word[last - 1];
	td_ns value_ns = (td_ns)(strtod(word[last], NULL) * 1e6);
	if (strcmp(key, "resets") == 0) {
		script->rules.visitor_resets = (uint8_t)strtoul(word[last], NULL, 10);
		return 0;
	}
	struct td_axis_rules *a = axis < RULE_AXES ? &script->rules.axis[axis] : NULL;
	struct td_way_rules *w = a && way < TD_WAYS ? &a->way[way] : NULL;
	struct td_switch_rules *s = sw < RULE_SWITCHES ? &script->rules.sw[sw] : NULL;

	if (w && strcmp(key, "slower") == 0) {
		uint32_t slower_ppm = (uint32_t)strtoul(word[last], NULL, 10) * 10000;

		w->trend = (struct td_trend_rules){slower_ppm, slower_ppm / 2, slower_ppm > 0 ? 3 : 0};
		return td_rules_check(&script->rules).fault == TD_RULES_OK ? 0 : -1;
	}
	if (s && strcmp(key, "chatter") == 0) {
		s->chatter.changes = (uint8_t)strtoul(word[last], NULL, 10);
		s->chatter.window_ns = s->chatter.changes == 0 ? 0 : TD_S(1);
		return td_rules_check(&script->rules).fault == TD_RULES_OK ? 0 : -1;
	}
	td_ns *field = a && strcmp(key, "dead") == 0       ? &a->dead_ns
		       : a && strcmp(key, "rest") == 0     ? &a->rest_ns
		       : a && strcmp(key, "restored") == 0 ? &a->restored_ns
		       : w && strcmp(key, "limit") == 0    ? &w->limit_ns
		       : w && strcmp(key, "early") == 0    ? &w->early_ns
		       : w && strcmp(key, "leave") == 0    ? &w->leave_ns
		       : s && strcmp(key, "confirm") == 0  ? &s->confirm_ns
		       : s && strcmp(key, "clear") == 0    ? &s->clear_ns
		       : s && strcmp(key, "window") == 0   ? &s->chatter.window_ns
							   : NULL;

	if (!field)
		return -1;
	*field = value_ns;
	return td_rules_check(&script->rules).fault == TD_RULES_OK ? 0 : -1;
}

void script_print_log(const struct script *script)
{
	size_t from = script->entries > 20 ? script->entries - 20 : 0;

	for (size_t i = from; i < script->entries; i++) {
		const struct entry *entry = &script->entry[i];

		printf("#   %12.3f %-16s %s %s %s\n", (double)entry->at_ns / 1e6,
		       td_cause_info(entry->news.cause)->name,
		       entry->news.axis < RULE_AXES ? rule_names.axis[entry->news.axis] : "-",
		       entry->news.axis < RULE_AXES && entry->news.way < TD_WAYS
			       ? rule_names.way[entry->news.axis][entry->news.way]
			       : "-",
		       entry->news.sw < RULE_SWITCHES ? rule_names.sw[entry->news.sw] : "-");
	}
}
