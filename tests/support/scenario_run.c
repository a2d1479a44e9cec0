/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/rule_cart.h"
#include "tests/support/scenario.h"
#include "tests/support/scenario_parts.h"
#include "tests/support/script.h"

enum { WORDS_MAX = 16, RENEW_MS = 100 };

static int fail(struct script *script, const char *format, ...)
{
	va_list args;

	printf("# %s:%d: \"%s\": ", script->file, script->line, script->shown);
	va_start(args, format);
	vprintf(format, args);
	va_end(args);
	printf(" (at %.3f ms)\n", (double)script->core.now_ns / 1e6);
	script_print_log(script);
	script->failed = true;
	return -1;
}

static int check_answer(struct script *script, const char *expected)
{
	const char *got = td_cause_info(script->result.answer)->name;

	if (!expected || strcmp(expected, got) == 0)
		return 0;
	return fail(script, "answered \"%s\"", got);
}

/* "key=NUMBER" among the words, or the default. */
static double option(char **word, const char *key, double otherwise)
{
	size_t length = strlen(key);

	for (; *word; word++)
		if (strncmp(*word, key, length) == 0 && (*word)[length] == '=')
			return strtod(*word + length + 1, NULL);
	return otherwise;
}

/* --- commands ------------------------------------------------------------------------------------- */

static int do_levels(struct script *script, char **word)
{
	script->active = 0;
	for (word++; *word; word++) {
		uint8_t sw = switch_of(*word);

		if (sw == TD_NO_SWITCH)
			return fail(script, "no such switch");
		script->active |= UINT32_C(1) << sw;
	}
	script_levels(script);
	return 0;
}

static int do_ready(struct script *script, char **word)
{
	if (do_levels(script, word) != 0)
		return -1;
	script_event(script, (struct td_event){.kind = TD_EVENT_ARM});
	return check_answer(script, "armed");
}

static int do_press(struct script *script, char **word)
{
	uint8_t sw = switch_of(word[1]);

	if (sw == TD_NO_SWITCH)
		return fail(script, "no such switch");
	if (strcmp(word[0], "press") == 0)
		script->active |= UINT32_C(1) << sw;
	else
		script->active &= ~(UINT32_C(1) << sw);
	script_levels(script);
	return 0;
}

static int do_ask(struct script *script, char **word)
{
	uint8_t axis = axis_of(word[1]);
	struct td_event event = {
		.kind = TD_EVENT_REQUEST,
		.axis = axis,
		.way = way_of(axis, word[1] ? word[2] : NULL),
		.session = (uint32_t)option(word, "session", 1),
		.seq = (uint32_t)option(word, "seq", 0),
		.lease_ns = (td_ns)(option(word, "lease", 300) * 1e6),
		.heard_ns = (td_ns)(option(word, "heard", 0) * 1e6),
	};

	event.hold = (uint32_t)option(word, "hold", event.seq == 0 ? ++script->holds : script->holds);
	script_event(script, event);
	return 0;
}

static int do_hold(struct script *script, char **word)
{
	if (!word[1] || !word[2] || !word[3] || !word[4])
		return fail(script, "hold AXIS WAY until MS");
	do_ask(script, word);
	if (axis_of(word[1]) >= RULE_AXES)
		return fail(script, "no such axis");
	script->held[axis_of(word[1])] = (struct held){
		.on = true,
		.way = way_of(axis_of(word[1]), word[2]),
		.session = (uint32_t)option(word, "session", 1),
		.hold = script->holds,
		.next_ns = script->core.now_ns + TD_MS(RENEW_MS),
		.until_ns = (td_ns)(strtod(word[4], NULL) * 1e6),
	};
	return 0;
}

static int do_renew(struct script *script, char **word)
{
	uint8_t axis = axis_of(word[1]);

	if (axis >= RULE_AXES)
		return fail(script, "no such axis");
	if (strcmp(word[0], "drop") == 0)
		script->held[axis].on = false;
	else
		script_renew(script, axis);
	return 0;
}

static int do_release(struct script *script, char **word)
{
	uint8_t axis = axis_of(word[1]);

	script_event(script, (struct td_event){.kind = TD_EVENT_RELEASE,
					       .axis = axis,
					       .session = (uint32_t)option(word, "session", 1),
					       .hold = (uint32_t)option(word, "hold", script->holds)});
	if (axis < RULE_AXES)
		script->held[axis].on = false;
	return 0;
}

static int end_session(struct script *script, char **word, enum td_event_kind why)
{
	uint32_t session = word[1] ? (uint32_t)strtoul(word[1], NULL, 10) : 0;

	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		if (script->held[axis].session == session)
			script->held[axis].on = false;
	script_event(script, (struct td_event){.kind = why, .session = session});
	return 0;
}

static int do_gone(struct script *script, char **word)
{
	return end_session(script, word, TD_EVENT_GONE);
}

static int do_turn_over(struct script *script, char **word)
{
	return end_session(script, word, TD_EVENT_TURN_OVER);
}

static int do_order(struct script *script, char **word)
{
	static const struct {
		const char *name;
		enum td_event_kind kind;
	} orders[] = {
		{"stop", TD_EVENT_STOP},       {"latch", TD_EVENT_LATCH},
		{"kept", TD_EVENT_LATCH_KEPT}, {"reset", TD_EVENT_RESET},
		{"arm", TD_EVENT_ARM},         {"disarm", TD_EVENT_DISARM},
		{"lost", TD_EVENT_LINES_LOST}, {"time", TD_EVENT_TIME},
		{"written", TD_EVENT_WRITTEN}, {"lock-kept", TD_EVENT_LOCK_KEPT},
		{"breach", TD_EVENT_BREACH},   {"untwisted", TD_EVENT_UNTWISTED},
	};
	struct td_event event = {.axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER, .session = 1};

	for (size_t i = 0; i < sizeof(orders) / sizeof(orders[0]); i++)
		if (strcmp(orders[i].name, word[0]) == 0)
			event.kind = orders[i].kind;
	event.heard_ns = (td_ns)(option(word, "heard", 0) * 1e6);
	if (event.kind == TD_EVENT_LOCK_KEPT && word[1])
		event.way = way_of(axis_of(word[1]), word[2]);
	for (word++; *word; word++)
		if (strcmp(*word, "visitor") == 0)
			event.role = TD_ROLE_VISITOR;
		else if (!strchr(*word, '=') && event.axis == TD_ALL_AXES)
			event.axis = axis_of(*word);
	script_event(script, event);
	return 0;
}

/* --- checks --------------------------------------------------------------------------------------- */

static int check_is(struct script *script, char **word)
{
	static const char *const states[] = {"tripped", "still", "coast", "wait", "run"};
	uint8_t index = axis_of(word[1]);

	if (index >= RULE_AXES || !word[2])
		return fail(script, "is AXIS STATE [WAY|CAUSE]");
	const struct td_axis *axis = &script->core.axis[index];
	const char *detail = axis->state == TD_AXIS_TRIPPED ? td_cause_info(axis->trip)->name
			     : axis->way < TD_WAYS          ? rule_names.way[index][axis->way]
							    : "";

	if (strcmp(states[axis->state], word[2]) != 0 || (word[3] && strcmp(detail, word[3]) != 0))
		return fail(script, "is %s %s", states[axis->state], detail);
	return 0;
}

/* "AXIS.WAY ..." as a bit set; false if one of them does not exist. */
static bool ways_of(char **word, uint32_t *ways)
{
	for (*ways = 0; *word; word++) {
		char *dot = strchr(*word, '.');

		if (!dot)
			return false;
		*dot = '\0';
		uint8_t axis = axis_of(*word);
		uint8_t way = way_of(axis, dot + 1);

		if (way >= TD_WAYS)
			return false;
		*ways |= UINT32_C(1) << (axis * TD_WAYS + way);
	}
	return true;
}

static int check_ways(struct script *script, char **word)
{
	bool outs = strcmp(word[0], "outs") == 0;
	uint32_t is = outs ? script->result.outputs : td_core_locked(&script->core);
	uint32_t expected;

	if (!ways_of(word + 1, &expected))
		return fail(script, "%s AXIS.WAY ...", word[0]);
	if (is != expected)
		return fail(script, "%s is %#x, not %#x", word[0], is, expected);
	return 0;
}

static int check_at(struct script *script, char **word)
{
	struct td_axis_view view;

	td_core_view(&script->core, &script->rules, axis_of(word[1]), script->core.now_ns, &view);
	long expected =
		word[2] && strcmp(word[2], "unknown") != 0 ? lround(strtod(word[2], NULL) * 10000) : -1;

	if (expected < 0 ? view.position_ppm != -1
			 : view.position_ppm == -1 || labs(view.position_ppm - expected) > 1000)
		return fail(script, "is at %d ppm", view.position_ppm);
	return 0;
}

static bool entry_matches(const struct entry *entry, char **word)
{
	uint8_t axis = word[2] && word[2][0] != '@' ? axis_of(word[2]) : TD_NO_AXIS;
	uint8_t way = axis != TD_NO_AXIS && word[3] && word[3][0] != '@' ? way_of(axis, word[3]) : TD_NO_WAY;

	return strcmp(td_cause_info(entry->news.cause)->name, word[1]) == 0 &&
	       (axis == TD_NO_AXIS || entry->news.axis == axis) &&
	       (way == TD_NO_WAY || entry->news.way == way);
}

static int check_saw(struct script *script, char **word)
{
	bool want = strcmp(word[0], "saw") == 0;
	const char *at = NULL;

	for (char **w = word; *w; w++)
		if ((*w)[0] == '@')
			at = *w + 1;
	if (!word[1] || (want && !at))
		return fail(script, "saw CAUSE [AXIS [WAY]] @MS");
	for (size_t i = 0; i < script->entries; i++) {
		const struct entry *entry = &script->entry[i];

		if (entry_matches(entry, word) &&
		    (!at || entry->at_ns == (td_ns)(strtod(at, NULL) * 1e6 + 0.5)))
			return want ? 0 : fail(script, "happened at %.3f", (double)entry->at_ns / 1e6);
	}
	return want ? fail(script, "did not happen") : 0;
}

static int check_moving(struct script *script, char **word)
{
	struct td_axis_view view;

	td_core_view(&script->core, &script->rules, axis_of(word[1]), script->core.now_ns, &view);
	if (!word[2] || view.moving != (strcmp(word[2], "yes") == 0))
		return fail(script, "moving is %d", view.moving);
	return 0;
}

static int check_latched(struct script *script, char **word)
{
	uint8_t expected = 0;

	for (word++; *word; word++)
		expected = (uint8_t)(expected | (strcmp(*word, "asked") == 0   ? TD_LATCH_ASKED
						 : strcmp(*word, "input") == 0 ? TD_LATCH_INPUT
									       : TD_LATCH_KEPT));
	return script->core.latch == expected ? 0 : fail(script, "latch is %d", script->core.latch);
}

static int check_pulses(struct script *script, char **word)
{
	uint8_t sw = switch_of(word[1]);

	if (sw == TD_NO_SWITCH || !word[2])
		return fail(script, "pulses SW N");
	if (script->core.sw[sw].pulses != strtoul(word[2], NULL, 10))
		return fail(script, "counted %u", script->core.sw[sw].pulses);
	return 0;
}

static int check_deadline(struct script *script, char **word)
{
	td_ns expected =
		word[1] && strcmp(word[1], "never") != 0 ? (td_ns)(strtod(word[1], NULL) * 1e6) : TD_NEVER;

	if (script->result.deadline_ns != expected)
		return fail(script, "deadline is %.3f ms", (double)script->result.deadline_ns / 1e6);
	return 0;
}

static int do_rule(struct script *script, char **word)
{
	if (script_rule(script, axis_of(word[1]), way_of(axis_of(word[1]), word[2]), switch_of(word[1]),
			word) == 0)
		return 0;
	return fail(script, "no such rule");
}

static int do_load_rule(struct script *script, char **word)
{
	return script_load_rule(script, axis_of(word[1]), word) == 0 ? 0 : fail(script, "no such rule");
}

static int do_cable(struct script *script, char **word)
{
	return script_cable_rule(script, word) == 0 ? 0 : fail(script, "no such rule");
}

static int check_twist(struct script *script, char **word)
{
	struct td_twist_view view = td_core_view_twist(&script->core, &script->rules);
	double net = script_degrees(view.net_uturn);
	double doubt = script_degrees(view.doubt_uturn);

	if (!word[1] || !word[2])
		return fail(script, "twist DEGREES DOUBT");
	if (fabs(net - strtod(word[1], NULL)) > 0.01 || fabs(doubt - strtod(word[2], NULL)) > 0.01)
		return fail(script, "twist is %.3f, doubt %.3f degrees", net, doubt);
	return 0;
}

static const struct {
	const char *name;
	int (*run)(struct script *, char **);
} commands[] = {
	{"levels", do_levels},
	{"ready", do_ready},
	{"press", do_press},
	{"clear", do_press},
	{"ask", do_ask},
	{"hold", do_hold},
	{"renew", do_renew},
	{"drop", do_renew},
	{"release", do_release},
	{"gone", do_gone},
	{"turn-over", do_turn_over},
	{"stop", do_order},
	{"latch", do_order},
	{"kept", do_order},
	{"reset", do_order},
	{"arm", do_order},
	{"disarm", do_order},
	{"lost", do_order},
	{"time", do_order},
	{"written", do_order},
	{"lock-kept", do_order},
	{"breach", do_order},
	{"is", check_is},
	{"locked", check_ways},
	{"outs", check_ways},
	{"at", check_at},
	{"saw", check_saw},
	{"never", check_saw},
	{"moving", check_moving},
	{"latched", check_latched},
	{"pulses", check_pulses},
	{"deadline", check_deadline},
	{"rule", do_rule},
	{"duty", do_load_rule},
	{"allow", do_load_rule},
	{"supply", do_load_rule},
	{"weight", do_load_rule},
	{"cable", do_cable},
	{"twist", check_twist},
	{"untwisted", do_order},
};

/* --- lines ---------------------------------------------------------------------------------------- */

static void split_words(char *line, char **word)
{
	size_t count = 0;

	for (char *w = strtok(line, " \t"); w && count < WORDS_MAX; w = strtok(NULL, " \t"))
		word[count++] = w;
	word[count] = NULL;
}

static int run_line(struct script *script, char *line)
{
	char *word[WORDS_MAX + 1];
	char *answer = strstr(line, " = ");

	if (answer) {
		*answer = '\0';
		answer += 3 + strspn(answer + 3, " ");
	}
	split_words(line, word);
	if (!word[0])
		return 0;
	if (script_advance(script, (td_ns)(strtod(word[0], NULL) * 1e6 + 0.5)) != 0)
		return fail(script, "%s", script->why);
	for (size_t i = 0; word[1] && i < sizeof(commands) / sizeof(commands[0]); i++) {
		if (strcmp(commands[i].name, word[1]) != 0)
			continue;
		if (commands[i].run(script, word + 1) != 0)
			return -1;
		return script->why[0] ? fail(script, "%s", script->why) : check_answer(script, answer);
	}
	const char *why = word[1] ? scenario_more(script, word + 1) : "no such command";

	return why ? fail(script, "%s", why) : check_answer(script, answer);
}

int scenario_run(const struct scenario *scenario)
{
	return scenario_run_watched(scenario, NULL);
}

int scenario_run_watched(const struct scenario *scenario, const struct script_watch *watch)
{
	struct script script;
	char *text = strdup(scenario->text);
	char *rest = text;
	int result = 0;

	script_init(&script, scenario->file, scenario->line - 1);
	script.watch = watch;
	for (char *line = strsep(&rest, "\n"); line && result == 0; line = strsep(&rest, "\n")) {
		script.line++;
		snprintf(script.shown, sizeof(script.shown), "%s", line);
		line[strcspn(line, "#")] = '\0';
		result = run_line(&script, line);
	}
	if (result == 0 && script.steps == 0)
		result = fail(&script, "the scenario does nothing");
	free(text);
	return result;
}
