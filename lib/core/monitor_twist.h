/* SPDX-License-Identifier: MIT */
/*
 * R18 as the monitor counts it: how far the cable is twisted at least and at most, and how large the doubt is at
 * least, from nothing but the time driven, where the steering can have stood, and the contacts of the swivel.
 *
 * Turns are whole numbers of 1e-15 turns, positive to the left. Where the steering is certain, the bounds are one
 * number, and it is that of the core exactly; where it is not, each bound takes what allows more. A doubt is never
 * counted larger than the core must count it:
 *   - driven with a steering that may be known and may not: the set share (doubt_ppm), which is the smaller doubt;
 *   - a sensor that stays silent: only while the steering certainly stands at a stop;
 *   - untwisted by the keeper, who may have been refused: nothing is left of the doubt, and the turns may be what they
 *     were, or none.
 * After one drive of more than a thousand turns without a step between nothing is certain until the cable is untwisted.
 */
#ifndef TD_CORE_MONITOR_TWIST_H
#define TD_CORE_MONITOR_TWIST_H

#include <stdbool.h>
#include <stdint.h>

#include "core/time.h"
#include "core/twist.h"

/* How far the steering leans: 1000000 = at its left stop, -1000000 = at its right one. */
struct td_monitor_lean {
	bool known;   /* the core may know it: then it is from `least_ppm` to `most_ppm` */
	bool unknown; /* it may not know it */
	int32_t least_ppm;
	int32_t most_ppm;
};

struct td_monitor_twist {
	td_ns counted_ns;    /* driving is counted up to here */
	int64_t least_fturn; /* ESTIMATE: net turns */
	int64_t most_fturn;
	int64_t driven_fturn; /* ESTIMATE: what the smallest circle would have turned, with a steering that was known */
	int64_t unsure_fturn; /* the same with one that was not */
	int64_t silent_fturn; /* SENSOR: should have turned since both contacts last changed */
	int64_t least_counts; /* SENSOR: net */
	int64_t most_counts;
	uint32_t slips; /* SENSOR: both contacts changed at once */
	uint8_t place;  /* SENSOR: of the contacts within their period, 0 ... 3; above: not known yet */
	uint8_t moved;  /* SENSOR: the contact that changed last, 1 or 2; 0: none did yet */
};

/* A cable that is straight. */
void td_monitor_twist_init(struct td_monitor_twist *twist, td_ns now_ns);

/* It is as it was kept over a restart. */
void td_monitor_twist_kept(struct td_monitor_twist *twist, const struct td_twist *kept);

/* Driven in `way` for `span_ns`, the steering at `lean` on average. */
void td_monitor_twist_driven(struct td_monitor_twist *twist, const struct td_twist_rules *rules, uint8_t way,
			     struct td_monitor_lean lean, td_ns span_ns);

/* The contacts are active or not. */
void td_monitor_twist_felt(struct td_monitor_twist *twist, bool first, bool second);

/* Somebody has said that the cable is straight; `certain`: and was believed. */
void td_monitor_twist_straight(struct td_monitor_twist *twist, bool certain);

/* Driving in `way` with the steering at `lean` certainly adds twist beyond the limit. False for rules nobody checked. */
bool td_monitor_twist_beyond(const struct td_monitor_twist *twist, const struct td_twist_rules *rules,
			     uint8_t way, struct td_monitor_lean lean);

#endif
