/* SPDX-License-Identifier: MIT */
#include "tests/support/taper.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/rule_text.h"
#include "tests/support/script.h"
#include "trace/tape.h"

enum { STEPS_A_MARK = 7 };

struct taper {
	char *config_text;
	struct td_config config;
	struct td_rules rules; /* as the run began */
	bool unfit;
	FILE *out;
	struct td_tape *tape;
	uint64_t number;
	uint64_t gap_first;
	uint64_t gap_count;
	uint32_t levels;
};

static void begin(void *ctx, const struct script *script, const struct td_event *event)
{
	struct taper *taper = ctx;
	struct td_error err = {""};
	struct td_tape_head head = {.kind = "run", .version = "test", .wall = "2026-11-25T00:00:00Z"};
	/* a daemon has read the switches by then */
	struct td_snapshot snapshot = {.levels = event->levels, .core = script->core};

	taper->config_text = rule_text(&script->rules);
	taper->unfit = !rule_text_config(taper->config_text, &script->rules, &taper->config);
	if (taper->unfit)
		return;
	taper->rules = script->rules;
	head.config_hash = taper->config.hash;
	taper->tape = td_tape_new(taper->out, &taper->config, taper->config_text, strlen(taper->config_text),
				  &head, &snapshot, &err);
	if (!taper->tape)
		fail_msg("%s", err.text);
}

static void put(struct taper *taper, struct td_entry *entry)
{
	struct td_error err = {""};

	entry->number = taper->number++;
	if (entry->number >= taper->gap_first && entry->number - taper->gap_first < taper->gap_count)
		return;
	if (td_tape_put(taper->tape, entry, &err) != 0)
		fail_msg("%s", err.text);
}

static void mark(struct taper *taper, const struct script *script)
{
	struct td_error err = {""};
	const struct td_snapshot snapshot = {.number = taper->number,
					     .levels = taper->levels,
					     .outputs = script->result.outputs,
					     .core = script->core};

	if (td_tape_check(taper->tape, &snapshot, &err) != 0)
		fail_msg("%s", err.text);
}

static void step(void *ctx, const struct script *script, const struct td_event *event)
{
	struct taper *taper = ctx;
	struct td_entry entry;

	if (taper->unfit || !rule_text_same(&taper->rules, &script->rules)) {
		taper->unfit = true;
		return;
	}
	if (event->kind == TD_EVENT_LEVELS)
		taper->levels = event->levels;
	td_entry_of_step(&entry, &script->core, &script->rules, event, &script->result, taper->levels);
	put(taper, &entry);
	for (uint16_t i = 0; i < script->result.news_count; i++) {
		td_entry_of_news(&entry, &script->core, &script->result, i);
		put(taper, &entry);
	}
	if (script->steps % STEPS_A_MARK == 0)
		mark(taper, script);
}

int tape_scenario(const struct scenario *scenario, struct taped *taped)
{
	return tape_scenario_with_gap(scenario, 0, 0, taped);
}

int tape_scenario_with_gap(const struct scenario *scenario, uint64_t first, uint64_t count,
			   struct taped *taped)
{
	static struct taper taper;
	const struct script_watch watch = {.ctx = &taper, .begin = begin, .step = step};
	struct td_error err = {""};

	memset(&taper, 0, sizeof(taper));
	taper.gap_first = first;
	taper.gap_count = count;
	taped->trace = NULL;
	taper.out = open_memstream(&taped->trace, &taped->length);
	if (scenario_run_watched(scenario, &watch) != 0)
		taper.unfit = true;
	if (!taper.unfit && td_tape_finish(taper.tape, 0, &err) != 0)
		fail_msg("%s", err.text);
	td_tape_free(taper.tape);
	fclose(taper.out);
	taped->config_text = taper.config_text;
	if (!taper.unfit)
		return 0;
	taped_free(taped);
	return -1;
}

void taped_free(struct taped *taped)
{
	free(taped->config_text);
	free(taped->trace);
	*taped = (struct taped){0};
}
