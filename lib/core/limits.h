/* SPDX-License-Identifier: MIT */
/*
 * Sizes and the ranges that are part of the types' contract. The configuration refuses a file
 * outside them and td_rules_check() refuses a rule set outside them, so no state of the core ever
 * sees, say, a dead time of zero.
 *
 * Where the numbers come from:
 *  - Dead time: the bridge itself needs about 10 us at most (L298N data sheet, switching times:
 *    source off 1.5 us + 0.2 us fall, sink on 1.6 us + 0.2 us). What counts is the motor: it must
 *    lose its speed before it is reversed, tens to hundreds of milliseconds (common practice, no
 *    source). 5 ms is the least that is certainly longer than any bridge.
 *  - Lease: 300 ms by default, at most 1500 ms; the design's choice, in line with the 0.5 s and
 *    1.5-2 s usually named for cable-less controls (from memory of EN 60204-32, not read).
 *  - Confirm 0-20 ms: switches bounce 1.6 ms on average and 6.2 ms at most (J. Ganssle, "A Guide to
 *    Debouncing", figures as quoted in public sources); 20 ms covers them three times.
 *  - Chatter: one operation of a sound contact is over within the same 20 ms, so it is one change, at most two. Less
 *    than four changes may be one operation of a slow contact and its return; more than twenty, or a window longer than
 *    ten seconds, would find nothing that other rules do not (common practice, no source).
 */
#ifndef TD_CORE_LIMITS_H
#define TD_CORE_LIMITS_H

#include "core/time.h"

/* Sizes of the product; a proof may make them smaller, nobody makes them larger (outputs and levels are
 * words of 32 bits). */
#ifndef TD_AXES_MAX
#define TD_AXES_MAX 16
#endif
#ifndef TD_SWITCHES_MAX
#define TD_SWITCHES_MAX 32
#endif
#ifndef TD_CHATTER_CHANGES_MAX
#define TD_CHATTER_CHANGES_MAX 20 /* counted changes of one contact */
#endif
#ifndef TD_BARS_MAX
#define TD_BARS_MAX 4 /* cross-axis conditions of one way */
#endif
#ifndef TD_VISITOR_RESETS_MAX
#define TD_VISITOR_RESETS_MAX 60 /* R11: in an hour; one a minute is no longer looking first */
#endif

enum { TD_WAYS = 2 };

/* Indices that name nothing. */
enum { TD_NO_AXIS = 0xff, TD_NO_WAY = 0xff, TD_NO_SWITCH = 0xff, TD_NO_ROLE = 0xff, TD_ALL_AXES = 0xfe };

#define TD_DEAD_TIME_MIN_NS TD_MS(5)
#define TD_DEAD_TIME_MAX_NS TD_S(10)
#define TD_REST_MIN_NS      TD_MS(5)
#define TD_REST_MAX_NS      TD_S(60)
#define TD_REACH_MIN_NS     TD_MS(10)
#define TD_REACH_MAX_NS     TD_S(600)
#define TD_LEAVE_MIN_NS     TD_MS(10)
#define TD_LEAVE_MAX_NS     TD_S(60)
#define TD_LEASE_MIN_NS     TD_MS(50)
#define TD_LEASE_MAX_NS     TD_MS(1500)
#define TD_CONFIRM_MAX_NS   TD_MS(20)
/* R2: not at once, so that an active level that is confirmed and ends in the same step stops what it is for. */
#define TD_CLEAR_MIN_NS      TD_MS(1)
#define TD_CLEAR_MAX_NS      TD_MS(1000)
#define TD_DUTY_LEAST_MIN_NS TD_MS(10) /* R12: a start that is cut at once is no start */
#define TD_RESTORED_MAX_NS   TD_S(3600)

#define TD_CHATTER_BOUNCE_NS     TD_CONFIRM_MAX_NS /* R8: changes that follow so soon are the bounce of one */
#define TD_CHATTER_CHANGES_MIN   4
#define TD_CHATTER_WINDOW_MIN_NS TD_MS(500)
#define TD_CHATTER_WINDOW_MAX_NS TD_S(10)

#endif
