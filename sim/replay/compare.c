/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "sim/replay/parts.h"

static uint32_t part(bool differs, enum td_replay_part part)
{
	return differs ? UINT32_C(1) << part : 0;
}

static bool news_differ(const struct td_replay_step *trace, const struct td_replay_step *mine)
{
	if (trace->said != mine->said)
		return true;
	for (uint16_t i = 0; i < mine->said; i++)
		if (trace->news[i].cause != mine->news[i].cause || trace->news[i].axis != mine->news[i].axis)
			return true;
	return false;
}

uint32_t td_replay_compare(const struct td_replay_step *trace, const struct td_replay_step *mine)
{
	const struct td_entry_step *a = &trace->step;
	const struct td_entry_step *b = &mine->step;

	return part(a->outputs != b->outputs, TD_REPLAY_PART_OUTPUTS) |
	       part(a->answer != b->answer, TD_REPLAY_PART_ANSWER) |
	       part(news_differ(trace, mine), TD_REPLAY_PART_NEWS) |
	       part(memcmp(a->state, b->state, sizeof(a->state)) != 0, TD_REPLAY_PART_STATES) |
	       part(a->asked != b->asked, TD_REPLAY_PART_ASKED) |
	       part(a->active != b->active, TD_REPLAY_PART_ACTIVE) |
	       part(a->armed != b->armed, TD_REPLAY_PART_ARMED) |
	       part(a->latch != b->latch, TD_REPLAY_PART_LATCH);
}

bool td_replay_idle(const struct td_replay *replay)
{
	const struct td_rules *rules = &replay->config->rules;
	const struct td_entry_step *last = &replay->last;
	const struct td_event nothing = {.kind = TD_EVENT_TIME};
	struct td_entry mine;

	for (uint8_t axis = 0; axis < rules->axes; axis++)
		if (last->state[axis] != TD_AXIS_STILL)
			return false;
	td_entry_of_step(&mine, &replay->core, rules, &nothing, &replay->result, replay->levels);
	const struct td_entry_step *step = &mine.as.step;

	return replay->has_last && last->outputs == 0 && last->asked == 0 && last->latch == 0 &&
	       replay->outputs == 0 && step->asked == 0 && step->latch == 0 && last->armed == step->armed &&
	       last->active == step->active && memcmp(last->state, step->state, sizeof(last->state)) == 0;
}
