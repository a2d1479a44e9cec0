/* SPDX-License-Identifier: MIT */
#include "sim/replay/replay.h"

#include <string.h>

#include "sim/replay/parts.h"
#include "trace/tape.h"

void td_replay_begin(struct td_replay *replay, const struct td_replay_setup *setup)
{
	memset(replay, 0, sizeof(*replay));
	replay->config = setup->config;
	replay->begin_ns = setup->begin_ns;
	replay->number = setup->first_number;
	replay->other_rules = setup->other_rules;
	if (setup->tap)
		replay->tap = *setup->tap;
	td_replay_start(replay, setup);
	replay->trace_outputs = replay->outputs;
	replay->tally.synced = !replay->from_record;
}

/* --- differences ----------------------------------------------------------------------------------- */

static void note_difference(struct td_replay *replay, uint32_t parts)
{
	struct td_replay_difference *first = &replay->first;

	replay->tally.differ++;
	if (first->parts)
		return;
	first->parts = parts;
	first->step = replay->tally.steps;
	first->trace = replay->trace;
	first->mine = replay->mine;
	first->acted = replay->acted;
	first->own = replay->own;
	td_replay_recall(replay, first);
}

/* As in the trace; where that comes to something else and this core was due before, once more in its own time. */
static uint32_t try_both(struct td_replay *replay)
{
	const struct td_event *event = &replay->trace.step.event;
	bool due = replay->deadline_ns < event->at_ns;
	uint32_t parts;

	if (due)
		td_replay_try(replay);
	td_replay_run(replay, event, replay->trace.file_ns, &replay->mine);
	parts = td_replay_compare(&replay->trace, &replay->mine);
	if (due && parts) {
		td_replay_undo(replay);
		td_replay_act(replay, event->at_ns);
		td_replay_run(replay, event, replay->trace.file_ns, &replay->mine);
		parts = td_replay_compare(&replay->trace, &replay->mine);
		if (replay->acted)
			parts |= UINT32_C(1) << TD_REPLAY_PART_NEWS;
	}
	td_replay_keep(replay, &replay->mine);
	return parts;
}

/* --- from a record: until everything rests ----------------------------------------------------------- */

static void follow_arming(struct td_replay *replay)
{
	struct td_event event = {.kind = TD_EVENT_ARM, .at_ns = replay->core.now_ns};

	if ((replay->trace.step.armed != 0) == replay->core.armed)
		return;
	if (!replay->trace.step.armed)
		event.kind = TD_EVENT_DISARM;
	td_replay_run(replay, &event, replay->trace.file_ns, &replay->own);
	td_replay_keep(replay, &replay->own);
}

/* What the record does not hold shows nothing any more once the trace and this core are both at rest. */
static void wait_for_rest(struct td_replay *replay)
{
	const struct td_event *event = &replay->trace.step.event;

	td_replay_act(replay, event->at_ns);
	replay->acted = false;
	if (td_replay_idle(replay)) {
		replay->tally.synced = true;
		replay->tally.sync_file_ns = replay->trace.file_ns;
		return;
	}
	td_replay_run(replay, event, replay->trace.file_ns, &replay->mine);
	td_replay_keep(replay, &replay->mine);
	follow_arming(replay);
	replay->last = replay->trace.step;
	replay->has_last = true;
}

/* --- what comes from the trace ----------------------------------------------------------------------- */

static void compare_step(struct td_replay *replay)
{
	uint32_t parts = try_both(replay);

	replay->tally.compared++;
	replay->tally.news += replay->trace.said;
	if (parts)
		note_difference(replay, parts);
}

/* The step that waited for its news has all of them. */
static void settle(struct td_replay *replay)
{
	if (!replay->waiting)
		return;
	replay->waiting = false;
	replay->acted = false;
	replay->tally.steps++;
	if (replay->tally.lost > 0)
		return;
	if (!replay->tally.synced)
		wait_for_rest(replay);
	if (replay->tally.synced)
		compare_step(replay);
	td_replay_remember_step(replay, &replay->trace);
}

static void take_step(struct td_replay *replay, td_ns file_ns, const struct td_entry_step *step)
{
	settle(replay);
	replay->waiting = true;
	replay->trace.file_ns = file_ns;
	replay->trace.levels_before = replay->trace_levels;
	replay->trace.outputs_before = replay->trace_outputs;
	replay->trace.step = *step;
	replay->trace.said = 0;
	replay->trace_levels = step->levels;
	replay->trace_outputs = step->outputs;
	if (step->news == 0)
		settle(replay);
}

static void take_news(struct td_replay *replay, const struct td_news *news)
{
	struct td_replay_step *step = &replay->trace;

	if (!replay->waiting) /* of a step that is missing */
		return;
	step->news[step->said++] = td_replay_said_of(news);
	if (step->said >= step->step.news)
		settle(replay);
}

static void take_client(struct td_replay *replay, td_ns file_ns, const struct td_entry *entry)
{
	struct td_entry copy = *entry;

	td_replay_remember_client(replay, file_ns, entry);
	if (replay->tap.entry && !replay->stopped && replay->tally.lost == 0)
		replay->stopped = replay->tap.entry(replay->tap.ctx, &copy) != 0;
}

int td_replay_entry(struct td_replay *replay, td_ns file_ns, const struct td_entry *entry)
{
	if (entry->kind == TD_ENTRY_STEP)
		take_step(replay, file_ns, &entry->as.step);
	else if (entry->kind == TD_ENTRY_NEWS)
		take_news(replay, &entry->as.news);
	else if (entry->kind == TD_ENTRY_SESSION || entry->kind == TD_ENTRY_REFUSED)
		take_client(replay, file_ns, entry);
	return replay->stopped ? -1 : 0;
}

/* After a record windings and counters are known with a margin only, so that marks say nothing. */
static bool marks_say_something(const struct td_replay *replay)
{
	return replay->tally.lost == 0 && !replay->other_rules && !replay->from_record;
}

int td_replay_check(struct td_replay *replay, td_ns file_ns, uint32_t check)
{
	settle(replay);
	if (replay->tally.lost == 0 && replay->tap.check && !replay->stopped)
		replay->stopped = replay->tap.check(replay->tap.ctx, &replay->core, replay->number) != 0;
	if (marks_say_something(replay)) {
		replay->tally.checks++;
		if (check != td_tape_check_of(&replay->core, &replay->config->rules)) {
			replay->trace.file_ns = file_ns;
			replay->acted = false;
			note_difference(replay, UINT32_C(1) << TD_REPLAY_PART_CHECK);
		}
	}
	return replay->stopped ? -1 : 0;
}

int td_replay_lost(struct td_replay *replay, td_ns file_ns, uint32_t lost)
{
	if (lost > 0 && replay->tally.lost == 0) {
		/* a step whose news are among what is missing cannot be compared */
		replay->waiting = false;
		replay->tally.lost_file_ns = file_ns;
	}
	replay->tally.lost += lost;
	return replay->stopped ? -1 : 0;
}

int td_replay_end(struct td_replay *replay, bool cut_off)
{
	/* Perhaps cut off among the news of the last step. */
	if (cut_off)
		replay->waiting = false;
	settle(replay);
	return replay->stopped ? -1 : 0;
}
