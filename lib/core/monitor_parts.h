/* SPDX-License-Identifier: MIT */
/* Inside of the monitor: its parts. Outside monitor*.c only tests include this. */
#ifndef TD_CORE_MONITOR_PARTS_H
#define TD_CORE_MONITOR_PARTS_H

#include "core/monitor.h"

/* --- monitor_sight.c: levels to switches --- */

/* Takes time and levels of the event; fills monitor->rose. */
void td_monitor_sight(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event);
bool td_monitor_at(const struct td_monitor *monitor, uint8_t sw);   /* confirmed; false for no switch */
bool td_monitor_near(const struct td_monitor *monitor, uint8_t sw); /* confirmed or perhaps about to be */

/* --- monitor_chatter.c: R8 --- */

/* The level of a switch changed in this step. */
void td_monitor_changed(struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw);
bool td_monitor_chatters(const struct td_monitor *monitor, uint8_t sw); /* false for no switch */
/* It chatters, and was not quiet long enough for a reset. */
bool td_monitor_restless(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t sw);
void td_monitor_forgive(struct td_monitor *monitor, uint8_t sw);

/* --- monitor_claim.c: who may hold an axis --- */

/* Ends the claims whose lease is over. */
void td_monitor_expire(struct td_monitor_axis *axis, td_ns now_ns);
void td_monitor_end_all(struct td_monitor_axis *axis, td_ns now_ns);
void td_monitor_end_hold(struct td_monitor_axis *axis, uint32_t session, uint32_t number, td_ns now_ns);
void td_monitor_end_session(struct td_monitor_axis *axis, uint32_t session, td_ns now_ns);
/* A request was heard: renews, refuses, or leaves the start of a hold for td_monitor_claim(). */
void td_monitor_request(struct td_monitor *monitor, const struct td_rules *rules,
			const struct td_event *event);
/* The start of a hold seen in this step, now that the outputs tell whether the axis was free for it. */
void td_monitor_claim(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);
/* Power came on in this way: only what may be its reason lives on. */
void td_monitor_cover(struct td_monitor_axis *axis, uint8_t way, td_ns now_ns);
/* Power went off: the hold it was on for is over. */
void td_monitor_uncover(struct td_monitor_axis *axis, td_ns now_ns);
bool td_monitor_covered(const struct td_monitor_axis *axis);
/* Somebody may hold it, powered or waiting. */
bool td_monitor_claimed(const struct td_monitor_axis *axis);

/* --- monitor_power.c: times of one axis --- */

/* Takes the new outputs of an axis: cuts, starts, and the trips that follow from them. */
void td_monitor_power(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		      uint32_t outputs);
/* Powered time of a way that is on, up to now; never more than the core must count. */
td_ns td_monitor_spent(const struct td_monitor *monitor, uint8_t axis, uint8_t way);
/* What the core can have counted of a way at `at_ns`, on or not, between the last change and now. */
struct td_monitor_spent {
	td_ns least_ns;
	td_ns most_ns;
};
struct td_monitor_spent td_monitor_spent_range(const struct td_monitor *monitor, const struct td_rules *rules,
					       uint8_t axis, uint8_t way, td_ns at_ns);
/* Powered time may count anew from here. */
void td_monitor_recount(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);
/* R6: after standing still long enough a request may give the stroke back, even one that is refused. */
void td_monitor_restore(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);
/* The last cut is low on the lines since now. */
void td_monitor_written(struct td_monitor_axis *axis, td_ns now_ns);
bool td_monitor_moves(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);

/* --- monitor_ends.c: R8, R11 --- */

/* The ends that became active in this step, and both ends. */
void td_monitor_ends(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		     enum td_event_kind kind);
/* A reset was perhaps taken: if the axis had tripped, it stands at an end that is active, or nowhere. */
void td_monitor_relocate(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);
/* The axis has certainly tripped; `on`: the way that was powered then, TD_NO_WAY if that is not certain. */
void td_monitor_trip(struct td_monitor *monitor, uint8_t axis, enum td_breach as, uint8_t on);
/* The way that is certainly powered when this event's trips come; TD_NO_WAY. A latched stop of the same step comes before what
 * the ends trip, and after what the event itself does. */
uint8_t td_monitor_powered(const struct td_monitor *monitor, uint8_t axis);

/* --- monitor_reset.c: R10, R11 --- */

void td_monitor_reset(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event);
/* R11: an axis was powered: if visitors had reset it, a reset of theirs was taken. */
void td_monitor_pardoned(struct td_monitor *monitor, uint8_t axis);
/* R11: how lately, before the last one, the first of more resets than an hour allows was taken; TD_NEVER: there
 * were not so many. */
td_ns td_monitor_resets_span(const struct td_monitor *monitor, const struct td_rules *rules);

/* --- monitor_bars.c: R17 --- */

/* A condition of this way is violated now. */
bool td_monitor_barred(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		       uint8_t way);
/* Another axis that moves or coasts needs this one to stand still. */
bool td_monitor_disturbs(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);

/* --- monitor_cable.c: R18 --- */

/* What was driven up to now, before anything changes. */
void td_monitor_cable_drive(struct td_monitor *monitor, const struct td_rules *rules);
/* The contacts of the swivel, after the switches. */
void td_monitor_cable_feel(struct td_monitor *monitor, const struct td_rules *rules);
/* TD_EVENT_UNTWISTED, while those who hold are still known as they were before this step. */
void td_monitor_untwisted(struct td_monitor *monitor, const struct td_rules *rules,
			  const struct td_event *event);
/* Driving so certainly twists the cable beyond its limit. */
bool td_monitor_twists(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		       uint8_t way);

/* --- monitor_load.c: R13 --- */

/* This axis came on, its last way and cut still those before. */
void td_monitor_load_start(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			   uint8_t way);
/* The start of this axis, together with all that is powered, is more than the supply bears. */
bool td_monitor_overload(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis);

/* --- monitor_judge.c --- */

/* One powered way against every rule but R13; *verdict as td_monitor_judge(). True if every rule held. */
bool td_monitor_check(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
		      uint8_t way, struct td_verdict *verdict);

/* R13 likewise. It is about all that is powered together, so it is asked last: who broke another rule is to blame. */
bool td_monitor_check_supply(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			     uint8_t way, struct td_verdict *verdict);

/* When a request or a stop was made: no later than it came. */
static inline td_ns td_monitor_heard(const struct td_monitor *monitor, const struct td_event *event)
{
	return event->heard_ns > 0 && event->heard_ns < monitor->now_ns ? event->heard_ns : monitor->now_ns;
}

/* R7, R11: requests heard up to now start nothing any more. */
static inline void td_monitor_overtake(struct td_monitor_axis *axis, td_ns until_ns)
{
	if (axis->stop_ns < until_ns)
		axis->stop_ns = until_ns;
}

static inline void td_monitor_overtake_all(struct td_monitor *monitor, td_ns until_ns)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		td_monitor_overtake(&monitor->axis[axis], until_ns);
}

/* These may have taken the power before anybody looked at the ends. */
static inline bool td_monitor_cuts_first(enum td_event_kind kind)
{
	return kind == TD_EVENT_STOP || kind == TD_EVENT_RELEASE || kind == TD_EVENT_GONE ||
	       kind == TD_EVENT_TURN_OVER || kind == TD_EVENT_LOCK_KEPT;
}

static inline uint8_t td_monitor_axes(const struct td_rules *rules)
{
	return rules->axes < TD_AXES_MAX ? rules->axes : (uint8_t)TD_AXES_MAX;
}

#endif
