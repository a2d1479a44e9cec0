/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "core/record.h"
#include "sim/replay/parts.h"

/* What a step at this very time would do shows when the core must be stepped next. */
static td_ns deadline_now(struct td_replay *replay)
{
	const struct td_event time = {.kind = TD_EVENT_TIME, .at_ns = replay->core.now_ns};

	replay->before = replay->core;
	td_core_step(&replay->before, &replay->config->rules, &time, &replay->result);
	return replay->result.news_count > 0 ? replay->core.now_ns : replay->result.deadline_ns;
}

static void start_event(struct td_replay *replay, struct td_event event)
{
	event.at_ns = replay->core.now_ns;
	td_core_step(&replay->core, &replay->config->rules, &event, &replay->result);
	replay->outputs = replay->result.outputs;
	replay->deadline_ns = replay->result.deadline_ns;
}

/* As a daemon begins with a record: levels, latch, locks. Arming waits for the trace. */
static void start_from_record(struct td_replay *replay, const struct td_keep *keep)
{
	const struct td_rules *rules = &replay->config->rules;

	td_core_init(&replay->core, rules, replay->begin_ns);
	td_record_restore(&replay->core, rules, keep, replay->begin_ns);
	start_event(replay, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = replay->levels});
	if (keep->latched)
		start_event(replay, (struct td_event){.kind = TD_EVENT_LATCH_KEPT});
	for (uint8_t axis = 0; axis < rules->axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if ((keep->locked >> (axis * TD_WAYS + way) & 1) != 0)
				start_event(replay, (struct td_event){.kind = TD_EVENT_LOCK_KEPT,
								      .axis = axis,
								      .way = way});
}

void td_replay_start(struct td_replay *replay, const struct td_replay_setup *setup)
{
	replay->levels = replay->trace_levels = setup->levels;
	if (!setup->snapshot) {
		replay->from_record = true;
		start_from_record(replay, setup->keep);
		return;
	}
	replay->core = setup->snapshot->core;
	replay->outputs = setup->snapshot->outputs;
	replay->deadline_ns = deadline_now(replay);
}

struct td_replay_said td_replay_said_of(const struct td_news *news)
{
	return (struct td_replay_said){(uint8_t)news->cause,
				       news->axis == TD_ALL_AXES ? (uint8_t)TD_NO_AXIS : news->axis};
}

void td_replay_run(struct td_replay *replay, const struct td_event *event, td_ns file_ns,
		   struct td_replay_step *out)
{
	const struct td_rules *rules = &replay->config->rules;
	uint32_t levels = event->kind == TD_EVENT_LEVELS ? event->levels : replay->levels;
	struct td_entry entry;

	td_core_step(&replay->core, rules, event, &replay->result);
	td_entry_of_step(&entry, &replay->core, rules, event, &replay->result, levels);
	out->file_ns = file_ns;
	out->own = false;
	out->levels_before = replay->levels;
	out->outputs_before = replay->outputs;
	out->step = entry.as.step;
	out->said = replay->result.news_count;
	for (uint16_t i = 0; i < out->said; i++)
		out->news[i] = td_replay_said_of(&replay->result.news[i]);
}

static void tell(struct td_replay *replay, struct td_entry *entry)
{
	entry->number = replay->number++;
	if (replay->tap.entry && !replay->stopped)
		replay->stopped = replay->tap.entry(replay->tap.ctx, entry) != 0;
}

void td_replay_keep(struct td_replay *replay, const struct td_replay_step *step)
{
	struct td_entry entry;

	replay->levels = step->step.levels;
	replay->outputs = step->step.outputs;
	replay->deadline_ns = replay->result.deadline_ns;
	if (!replay->tap.entry)
		return;
	td_entry_of_step(&entry, &replay->core, &replay->config->rules, &step->step.event, &replay->result,
			 replay->levels);
	tell(replay, &entry);
	for (uint16_t i = 0; i < replay->result.news_count; i++) {
		td_entry_of_news(&entry, &replay->core, &replay->result, i);
		tell(replay, &entry);
	}
}

void td_replay_undo(struct td_replay *replay)
{
	replay->core = replay->before;
}

void td_replay_try(struct td_replay *replay)
{
	replay->before = replay->core;
}

void td_replay_act(struct td_replay *replay, td_ns until_ns)
{
	while (replay->deadline_ns < until_ns) {
		const struct td_event time = {.kind = TD_EVENT_TIME, .at_ns = replay->deadline_ns};
		struct td_replay_step *step = replay->acted ? &replay->mine : &replay->own;

		td_replay_run(replay, &time, time.at_ns - replay->begin_ns, step);
		td_replay_keep(replay, step);
		step->own = true;
		replay->acted |= step->said > 0 || step->step.outputs != step->outputs_before;
		if (replay->deadline_ns <= time.at_ns) /* only a core that was damaged says so */
			return;
	}
}
