/* SPDX-License-Identifier: MIT */
/*
 * How the signals of our own traces are named, so that a drawing or a replay finds its way. There is one
 * scope for each axis and one for the switches; all may stand inside one for the machine. What a trace does
 * not record is left out.
 *
 *     scope AXIS
 *       WAY               1 bit: the bridge input is high; the two ways in the order of the configuration
 *       ask_WAY           1 bit: somebody holds this way
 *       state             3 bits: enum td_axis_state
 *       cause             16 bits, see below
 *       position_ppm      32 bits, two's complement: 0 = end of the first way, 1000000 = of the second
 *       skipped_teeth     32 bits
 *     scope switches
 *       SWITCH            1 bit: electrical level of the line
 *       active_SWITCH     1 bit: the contact is active (filtered)
 *     scope machine
 *       armed, latched    1 bit
 *       latch             3 bits: why it is latched, a bit set TD_LATCH_...
 *       cause             16 bits: what concerns no axis
 *     scope event         what the core was given, for replay
 *       kind              16 bits, like a cause: enum td_event_kind below a count. A change of it is an event; it
 *                         stands behind all that belongs to the event, at the same time. A kind beyond 255 is 255
 *       shift_ns          64 bits: the time of the event is the time in the file less this (two's complement). Events
 *                         of one moment stand 1 ns apart in the file, so that nothing changes twice at a time
 *       given             9 bits: which of the nine fields that follow the event has, bit 0 = axis; the others
 *                         are 0 in it, and their signals stay as they were
 *       axis, way, role   8 bits
 *       session, hold, seq  32 bits
 *       lease_ns, age_ns  64 bits, two's complement; age: time of the event less heard_ns
 *       levels            32 bits: of an event LEVELS, bit i = switch i
 *       answer            8 bits: enum td_cause
 *       news              8 bits: how many causes come of it
 *       lost              32 bits: how many entries are missing before here
 *       check             32 bits: td_tape_check_of(), for the replay
 *       end               1 bit: the recording was ended in order, nothing is missing behind
 *     scope clients
 *       came, went        32 bits: number of the session
 *       refused           16 bits, like a cause: the front turned a request away, the core never heard of it
 *       refused_session   32 bits
 *       role, uid         8, 32 bits: of the one that came, went or was refused
 *
 * lost, check, came and went are x before the first time, and for 1 ns between twice the same number; so each number in
 * them is something that happened. What belongs to it, or to a request turned away, stands before it at the same time.
 *
 * Comments before the first value hold what is needed to replay (tape.h).
 *
 * A cause is a moment, but a signal holds its value; so that the same cause twice in a row is two
 * changes, the upper byte counts the causes of this signal. 0 = no cause yet.
 */
#ifndef TD_TRACE_LAYOUT_H
#define TD_TRACE_LAYOUT_H

#include <stdint.h>

/* What our own traces begin their $version with. */
#define TD_TRACE_VERSION "tripdog"

#define TD_TRACE_SWITCHES "switches"
#define TD_TRACE_MACHINE  "machine"
#define TD_TRACE_ARMED    "armed"
#define TD_TRACE_LATCHED  "latched"
#define TD_TRACE_LATCH    "latch"
#define TD_TRACE_CAUSE    "cause"
#define TD_TRACE_STATE    "state"
#define TD_TRACE_ASK      "ask_"
#define TD_TRACE_POSITION "position_ppm"
#define TD_TRACE_TEETH    "skipped_teeth"
#define TD_TRACE_ACTIVE   "active_"
#define TD_TRACE_EVENT    "event"
#define TD_TRACE_CLIENTS  "clients"
#define TD_TRACE_LOST     "lost"
#define TD_TRACE_REFUSED  "refused"

enum { TD_TRACE_STATE_BITS = 3, TD_TRACE_CAUSE_BITS = 16 };

/* The value of a cause signal for the count-th cause (from 1). */
static inline uint64_t td_trace_cause(int cause, uint32_t count)
{
	return ((uint64_t)count & 0xff) << 8 | ((uint64_t)cause & 0xff);
}

/* The number of the cause in such a value. */
static inline int td_trace_cause_of(uint64_t value)
{
	return (int)(value & 0xff);
}

#endif
