/* SPDX-License-Identifier: MIT */
#include "sim/replay/tell.h"

static const char *rule_of(const struct td_cause_info *info)
{
	return info->rule[0] ? info->rule : "--";
}

static void tell_cause(FILE *out, enum td_cause cause, const char *who)
{
	const struct td_cause_info *info = td_cause_info(cause);

	(void)fprintf(out, "    %-4s %s, %s only: %s\n", rule_of(info), info->name, who, info->sentence);
}

static bool says(const struct td_replay_step *step, const struct td_replay_said *said)
{
	for (uint16_t i = 0; i < step->said; i++)
		if (step->news[i].cause == said->cause && step->news[i].axis == said->axis)
			return true;
	return false;
}

/* Of an axis that waited in this moment, for what; else NONE. */
static enum td_cause waited_for(const struct td_replay_moment *moment, uint8_t axis)
{
	const struct td_replay_step *step = &moment->step;
	const struct td_replay_said supply = {TD_CAUSE_SUPPLY_WAIT, axis};

	if (moment->kind != TD_ENTRY_STEP)
		return TD_CAUSE_NONE;
	if (says(step, &supply))
		return TD_CAUSE_SUPPLY_WAIT;
	return step->step.event.kind == TD_EVENT_REQUEST && step->step.event.axis == axis &&
			       step->step.answer == TD_CAUSE_QUEUED
		       ? TD_CAUSE_QUEUED
		       : TD_CAUSE_NONE;
}

/* A start has no rule of its own: what it waited for has. */
static void tell_wait(FILE *out, const struct td_replay_difference *difference, uint8_t axis)
{
	enum td_cause cause = TD_CAUSE_NONE;

	for (uint8_t i = difference->before; i > 0 && cause == TD_CAUSE_NONE; i--)
		cause = waited_for(&difference->moment[i - 1], axis);
	if (cause != TD_CAUSE_NONE)
		(void)fprintf(out, "    %-4s %s, before: %s\n", rule_of(td_cause_info(cause)),
			      td_cause_info(cause)->name, td_cause_info(cause)->sentence);
}

/* Causes that `step` has and `other` has not; how many. */
static int tell_missing(FILE *out, const struct td_replay_difference *difference,
			const struct td_replay_step *step, const struct td_replay_step *other,
			const char *who)
{
	int told = 0;

	for (uint16_t i = 0; i < step->said; i++) {
		if (says(other, &step->news[i]))
			continue;
		tell_cause(out, (enum td_cause)step->news[i].cause, who);
		if (step->news[i].cause == TD_CAUSE_STARTED)
			tell_wait(out, difference, step->news[i].axis);
		told++;
	}
	return told;
}

static bool has(const struct td_replay_difference *difference, enum td_replay_part part)
{
	return (difference->parts >> part & 1) != 0;
}

/* News of the same cause tell it already. */
static int tell_answer(FILE *out, const struct td_replay_step *step, const char *who)
{
	enum td_cause answer = (enum td_cause)step->step.answer;

	for (uint16_t i = 0; i < step->said; i++)
		if (step->news[i].cause == answer)
			return 0;
	if (answer == TD_CAUSE_NONE)
		return 0;
	tell_cause(out, answer, who);
	return 1;
}

static int tell_answers(FILE *out, const struct td_replay_difference *difference)
{
	if (difference->acted || !has(difference, TD_REPLAY_PART_ANSWER))
		return 0;
	return tell_answer(out, &difference->trace, "answered in the trace") +
	       tell_answer(out, &difference->mine, "answered by this core");
}

/* Where no cause tells: the rules that decide of this. */
static void tell_part(FILE *out, enum td_replay_part part)
{
	static const char *const why[TD_REPLAY_PARTS] = {
		[TD_REPLAY_PART_OUTPUTS] = "R1   what is powered",
		[TD_REPLAY_PART_ANSWER] = "R7   what became of the request",
		[TD_REPLAY_PART_NEWS] = "--   the same causes in another order, or not as often",
		[TD_REPLAY_PART_STATES] = "R3   how long an axis counts as moving after it was cut",
		[TD_REPLAY_PART_ASKED] = "R7   who is still asked for",
		[TD_REPLAY_PART_ACTIVE] =
			"R2   when a switch counts as active or clear (R9: and at which level)",
		[TD_REPLAY_PART_ARMED] = "R14  whether the machine is armed",
		[TD_REPLAY_PART_LATCH] = "R10  whether, and why, the latched stop is on",
		[TD_REPLAY_PART_CHECK] = "R4   what is counted (R6, R12, R18, M14 likewise)",
	};

	(void)fprintf(out, "    %s\n", why[part]);
}

void td_replay_tell_why(FILE *out, const struct td_replay_difference *difference)
{
	static const struct td_replay_step nothing;
	const struct td_replay_step *trace = difference->acted ? &nothing : &difference->trace;
	const struct td_replay_step *mine = difference->acted ? &difference->own : &difference->mine;
	int told = 0;

	/* what a switch is taken for comes before all that follows from it */
	if (!difference->acted && has(difference, TD_REPLAY_PART_ACTIVE))
		tell_part(out, TD_REPLAY_PART_ACTIVE);
	if (!has(difference, TD_REPLAY_PART_CHECK)) {
		told = tell_missing(out, difference, trace, mine, "in the trace");
		told += tell_missing(out, difference, mine, trace, "of this core");
		told += tell_answers(out, difference);
	}
	for (int part = 0; told == 0 && part < TD_REPLAY_PARTS; part++)
		if (has(difference, (enum td_replay_part)part) && part != TD_REPLAY_PART_ACTIVE)
			tell_part(out, (enum td_replay_part)part);
}
