/* SPDX-License-Identifier: MIT */
#include "sim/replay/parts.h"

static bool shows(const struct td_replay_step *step)
{
	return step->said > 0 || step->step.outputs != step->outputs_before;
}

/* What everybody who reads a trace knows anyway. */
static bool tells_nothing(const struct td_replay_step *step)
{
	return (step->step.event.kind == TD_EVENT_TIME || step->step.event.kind == TD_EVENT_WRITTEN) &&
	       !shows(step);
}

static bool quiet_renewal(const struct td_replay_moment *moment)
{
	const struct td_replay_step *step = &moment->step;

	return moment->kind == TD_ENTRY_STEP && step->step.event.kind == TD_EVENT_REQUEST &&
	       step->step.answer == TD_CAUSE_RENEWED && !shows(step);
}

static bool same_hold(const struct td_event *a, const struct td_event *b)
{
	return a->session == b->session && a->hold == b->hold && a->axis == b->axis && a->way == b->way;
}

static struct td_replay_moment *next_place(struct td_replay *replay)
{
	if (replay->moments < TD_REPLAY_BEFORE)
		replay->moments++;
	replay->newest = (uint8_t)((replay->newest + 1) % TD_REPLAY_BEFORE);
	return &replay->moment[replay->newest];
}

static struct td_replay_moment *newest(struct td_replay *replay, uint8_t back)
{
	return &replay->moment[(replay->newest + TD_REPLAY_BEFORE - back) % TD_REPLAY_BEFORE];
}

/* The renewal of the same hold that nothing but renewals came after; NULL if there is none. */
static struct td_replay_moment *renewed_before(struct td_replay *replay, const struct td_replay_step *step)
{
	for (uint8_t back = 0; back < replay->moments; back++) {
		struct td_replay_moment *moment = newest(replay, back);

		if (!quiet_renewal(moment))
			return NULL;
		if (same_hold(&moment->step.step.event, &step->step.event))
			return moment;
	}
	return NULL;
}

void td_replay_remember_step(struct td_replay *replay, const struct td_replay_step *step)
{
	const struct td_replay_moment now = {.kind = TD_ENTRY_STEP, .step = *step};

	if (tells_nothing(step))
		return;
	struct td_replay_moment *place = quiet_renewal(&now) ? renewed_before(replay, step) : NULL;

	if (place) {
		place->step = *step;
		place->more++;
	} else {
		*next_place(replay) = now;
	}
}

void td_replay_remember_client(struct td_replay *replay, td_ns file_ns, const struct td_entry *entry)
{
	*next_place(replay) = (struct td_replay_moment){
		.kind = entry->kind, .step = {.file_ns = file_ns}, .session = entry->as.session};
}

void td_replay_recall(const struct td_replay *replay, struct td_replay_difference *difference)
{
	difference->before = replay->moments;
	for (uint8_t i = 0; i < replay->moments; i++)
		difference->moment[replay->moments - 1 - i] =
			replay->moment[(replay->newest + TD_REPLAY_BEFORE - i) % TD_REPLAY_BEFORE];
}
