/* SPDX-License-Identifier: MIT */
/*
 * Inside of the core: one step in progress, and the parts that td_core_step() puts together. Nothing
 * outside lib/core includes this.
 *
 * Order of a step, fixed because it decides what wins when several things are true at once:
 *   1. time            never backwards; driving since the last step twists the cable
 *   2. switches        filters settle, new levels taken, filters settle again; contacts of the cable
 *   3. orders          stop, latch, reset, release ... and arming; a request is only judged in 6
 *   4. machine         emergency-stop input
 *   5. every axis      ends, trips, limits, lease, conditions: all that takes power away
 *   6. request         the only thing that can lead to power, after all that takes it away; but for the
 *                      cable, whose steering a request may cut
 *   7. every axis      waits that are over: start or drop; rests that are over
 */
#ifndef TD_CORE_STEP_H
#define TD_CORE_STEP_H

#include "core/core.h"

struct td_step {
	struct td_core *core;
	const struct td_rules *rules;
	const struct td_event *event;
	struct td_result *result;
	td_ns now_ns;
	uint32_t rose; /* switches that became active in this step */
};

/* --- report.c --- */

/* Adds to the news. The axis' present holder is named where somebody holds it. */
void td_report(struct td_step *step, enum td_cause cause, uint8_t axis, uint8_t way, uint8_t sw);

/* The same of something that the session of this event did, and names it. */
void td_report_deed(struct td_step *step, enum td_cause cause, uint8_t axis);

/* Takes power and hold from an axis that runs or waits, and says why; otherwise does nothing. */
void td_report_cut(struct td_step *step, uint8_t axis, enum td_cause cause);

/* Trips an axis that is not tripped, and says why; its position is unknown from then on. */
void td_report_trip(struct td_step *step, uint8_t axis, enum td_cause cause);

/* --- power.c: what power means for duty and supply --- */

/* One event through the table of the axis; duty and supply hear of it. */
enum td_axis_action td_power_apply(struct td_step *step, uint8_t axis, const struct td_axis_input *input);

/* R12: TD_CAUSE_NONE, or why an axis that rests may not be powered now. */
enum td_cause td_power_duty_refusal(const struct td_step *step, uint8_t axis);

/* R12: a powered axis has used up its duty. */
bool td_power_duty_spent(const struct td_step *step, uint8_t axis);

/* R13: an axis that waits and is due takes or keeps its place in the line; true when it may start. */
bool td_power_supply_grants(struct td_step *step, uint8_t axis);

/* --- sense.c: switches --- */

void td_sense(struct td_step *step);
bool td_sense_active(const struct td_core *core, uint8_t sw);        /* filtered; false for no switch */
bool td_sense_maybe_active(const struct td_core *core, uint8_t sw);  /* filtered or raw */
bool td_sense_surely_active(const struct td_core *core, uint8_t sw); /* filtered and raw */
/* R8: marked as chattering; false for no switch. */
bool td_sense_chatters(const struct td_core *core, uint8_t sw);
/* R8: marked, and not quiet for long enough to be forgiven. */
bool td_sense_restless(const struct td_core *core, const struct td_rules *rules, uint8_t sw);
void td_sense_forgive(struct td_core *core, uint8_t sw);
td_ns td_sense_deadline(const struct td_core *core, const struct td_rules *rules);

/* --- order.c: everything that asks, but for requests --- */

void td_order(struct td_step *step);
void td_order_stop_input(struct td_step *step);

/* --- reset.c: R10, R11, how a latch, a trip and a lock end --- */

void td_reset(struct td_step *step);

/* --- lock.c: R11, two trips in a row --- */

/* This way is locked; false for a way that does not exist. */
bool td_lock_holds(const struct td_core *core, uint8_t axis, uint8_t way);
/* A motion of this way came to where it should. */
void td_lock_completed(struct td_core *core, uint8_t axis, uint8_t way);
/* The axis tripped while this way was powered; TD_NO_WAY: while it was off. */
void td_lock_tripped(struct td_step *step, uint8_t axis, uint8_t way);
/* Takes the locks of an axis away and begins to count anew. */
void td_lock_clear(struct td_core *core, uint8_t axis);
/* TD_EVENT_LOCK_KEPT */
void td_lock_kept(struct td_step *step);

/* --- watch.c: what takes power away from one axis --- */

void td_watch(struct td_step *step, uint8_t axis);
td_ns td_watch_deadline(const struct td_core *core, const struct td_rules *rules, uint8_t axis);
/* R5: the end it stands at should have cleared by now; starting `way` would only go on as before. */
bool td_watch_leave_over(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way);
bool td_watch_both_ends(const struct td_core *core, const struct td_rules *rules, uint8_t axis);

/* --- pace.c: travel times, M14 --- */

/* The axis has just been powered. Its way is one, here and below. */
void td_pace_started(struct td_step *step, uint8_t axis);
/* It runs, and the end of its way is active. A travel that began at the other end, without a stop between, is one to
 * learn from or to compare. */
void td_pace_arrived(struct td_step *step, uint8_t axis);

/* --- bar.c: R17 --- */

/* A condition of this way is violated now. */
bool td_bar_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way);
/* Starting this axis would violate a condition of an axis that moves. */
bool td_bar_disturbs(const struct td_core *core, const struct td_rules *rules, uint8_t axis);

/* --- cable.c: R18 --- */

void td_cable_drive(struct td_step *step); /* counts what was driven since the last step */
void td_cable_feel(struct td_step *step);  /* counts by the contacts */
void td_cable_watch(struct td_step *step); /* cuts the drive at the limit */
/* Powering this way would add twist beyond the limit. */
bool td_cable_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way);
td_ns td_cable_deadline(const struct td_core *core, const struct td_rules *rules);
/* Somebody has looked at the cable and it is straight; the answer. Never moves anything. */
enum td_cause td_cable_untwisted(struct td_step *step);

/* --- ask.c: requests and starts --- */

void td_ask(struct td_step *step);
/* True if it dropped a request: somebody else in the line may be next. */
bool td_ask_due(struct td_step *step, uint8_t axis);

/* True while somebody holds the axis: it runs or waits. */
static inline bool td_held(const struct td_axis *axis)
{
	return axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
}

/* R7, R11: requests heard up to now will not start this axis any more. */
static inline void td_overtake(struct td_core *core, uint8_t axis, td_ns until_ns)
{
	if (core->stop_ns[axis] < until_ns)
		core->stop_ns[axis] = until_ns;
}

static inline void td_overtake_all(struct td_core *core, td_ns until_ns)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		td_overtake(core, axis, until_ns);
}

/* The axis event without argument. */
static inline enum td_axis_action td_apply(struct td_step *step, uint8_t axis, enum td_axis_event event)
{
	const struct td_axis_input input = {.event = event, .now_ns = step->now_ns};

	return td_power_apply(step, axis, &input);
}

#endif
