/* SPDX-License-Identifier: MIT */
/*
 * R18: a machine that drives on a cable must not turn the same way for ever. This counts its net turns and
 * says which ways to drive would add to them beyond the limit; only these are blocked, never the way back.
 *
 * Two sources. A swivel sensor at the cable with two contacts in quadrature counts real turns. Without one
 * the turns are estimated from how long the machine was driven which way with which steering: for a machine
 * that steers by the angle d of a wheel at the distance L from its fixed axle the yaw rate is v tan(d) / L
 * (textbook geometry), with the other sign when driven backward, so going back the same arc takes the turn
 * off again. The configuration turns that into one rate for each way and side.
 *
 * An estimate drifts and a sensor can fail, so there is a doubt besides the number, and the limit shrinks by
 * it: a set share of what the smallest circle would have turned in all the time driven (a steering that is a
 * little off turns a machine that drives straight, too), every turn made with unknown steering, two counts for
 * each step the contacts cannot have made, and whatever the machine should have turned without both contacts
 * saying so. Only td_twist_straighten(), by somebody who has looked at the cable, takes doubt away.
 *
 * Turns are counted without rounding, in 1e-15 turns (rate x nanoseconds), so many small steps and one big
 * one are the same exactly. Positive is to the left (counter-clockwise from above). Everything saturates and
 * nothing fails, whatever bytes stand in the state.
 */
#ifndef TD_CORE_TWIST_H
#define TD_CORE_TWIST_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

#define TD_TWIST_LIMIT_MAX_UTURN 1000000000 /* 1000 turns */
#define TD_TWIST_RATE_MAX_PPM_S  10000000   /* 10 turns a second */
#define TD_TWIST_STEPS_MAX       100000     /* counts of the sensor for one turn */

enum td_twist_source {
	TD_TWIST_ESTIMATE = 0,
	TD_TWIST_SENSOR,
	TD_TWIST_UNLIMITED, /* no cable: nothing is counted, nothing blocked */
};

/* Where the steering stands. UNKNOWN is 0: nobody said. */
enum td_twist_side { TD_TWIST_UNKNOWN = 0, TD_TWIST_STRAIGHT, TD_TWIST_LEFT, TD_TWIST_RIGHT, TD_TWIST_SIDES };

/* All zero blocks every turn. */
struct td_twist_rules {
	enum td_twist_source source;
	int32_t limit_uturn; /* millionths of a turn to either side: 1 ... TD_TWIST_LIMIT_MAX_UTURN */
	/* Millionths of a turn a second, by way of the drive and side of the steering; within +-
	 * TD_TWIST_RATE_MAX_PPM_S; [UNKNOWN] is not used. With the sensor they tell which way adds. */
	int32_t rate_ppm_s[TD_WAYS][TD_TWIST_SIDES];
	uint32_t
		doubt_ppm; /* ESTIMATE: what it can be wrong by, share of the smallest circle: 0 ... 1000000 */
	int32_t steps_per_turn; /* SENSOR: 4 for each period of one contact; 1 ... TD_TWIST_STEPS_MAX;
	                            negative where the contacts are wired the other way round */
};

struct td_twist {
	int64_t net_fturn;    /* ESTIMATE */
	int64_t gross_fturn;  /* ESTIMATE: what the smallest circle would have turned, to and fro */
	int64_t unsure_fturn; /* turned without knowing which way */
	int64_t silent_fturn; /* SENSOR: should have turned since the contacts last proved that they count */
	int64_t counts;       /* SENSOR: net */
	uint32_t slips;       /* SENSOR: steps that cannot be */
	uint8_t contacts;     /* SENSOR: last levels, 0 ... 3; above: not known yet */
	uint8_t changed;      /* SENSOR: the contact that made the last step, 1 or 2; else: none did yet */
};

bool td_twist_rules_ok(const struct td_twist_rules *rules);

/* The cable is known to be straight. Also how a state begins. */
void td_twist_straighten(struct td_twist *twist);

/* Nothing is known: every turn is blocked until somebody straightens the cable. */
void td_twist_init_unknown(struct td_twist *twist);

/* The drive was powered in `way` (or coasted; TD_NO_WAY: stood) with the steering on `side` for `span_ns`. */
void td_twist_advance(struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		      enum td_twist_side side, td_ns span_ns);

/* It may have been driven for `span_ns`, and nobody knows how. */
void td_twist_unseen(struct td_twist *twist, const struct td_twist_rules *rules, td_ns span_ns);

/* The contacts were read: bit 0 the first, bit 1 the second; other bits are ignored. 00 01 11 10 00 counts
 * up. The first reading counts nothing. */
void td_twist_contacts(struct td_twist *twist, uint8_t levels);

/* True where driving `way` with the steering on `side` would add twist beyond the limit. A way that does
 * not exist, or rules that are not ok: true. */
bool td_twist_blocks(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		     enum td_twist_side side);

/* When to look again: driven so from now on, the machine is not blocked before this time has passed but for
 * some nanoseconds. 0 = it is blocked now, TD_NEVER = it never will be. With the sensor: should it stay
 * silent; with every count there is more time or less. On the way back towards straight it may be early. */
td_ns td_twist_left_ns(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		       enum td_twist_side side);

/* Net turns and doubt in millionths of a turn, for people. */
int64_t td_twist_net_uturn(const struct td_twist *twist, const struct td_twist_rules *rules);
int64_t td_twist_doubt_uturn(const struct td_twist *twist, const struct td_twist_rules *rules);

#endif
