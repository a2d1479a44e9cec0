/* SPDX-License-Identifier: MIT */
/*
 * One axis: a total table, state x event -> action, next state. An output level follows from the
 * state alone, and only one state is powered, in one way: both inputs high cannot be expressed (R1).
 */
#ifndef TD_CORE_AXIS_H
#define TD_CORE_AXIS_H

#include <stdbool.h>
#include <stdint.h>

#include "core/cause.h"
#include "core/rules.h"

/* STILL is not 0 by accident of order: TRIPPED is, so that a state nobody set is off and latched. */
enum td_axis_state {
	TD_AXIS_TRIPPED = 0, /* off, latched with a cause */
	TD_AXIS_STILL,       /* off, rest is over */
	TD_AXIS_COAST,       /* off, cut less than its rest time ago: counts as moving */
	TD_AXIS_WAIT,        /* off, a request waits for dead time or rest */
	TD_AXIS_RUN,         /* powered in one way */
	TD_AXIS_STATES
};

enum td_axis_event {
	TD_AXIS_ASK = 0,   /* a new hold, every start condition met */
	TD_AXIS_GO,        /* the wait is over, every start condition still met */
	TD_AXIS_REST_OVER, /* the rest time since the cut has passed */
	TD_AXIS_CUT,       /* the hold ended, for whatever reason */
	TD_AXIS_TRIP,      /* protective stop */
	TD_AXIS_RESET,
	TD_AXIS_EVENTS
};

struct td_hold {
	uint32_t session;
	uint32_t number;
	uint32_t seq;
	td_ns lease_end_ns;
};

struct td_axis {
	enum td_axis_state state;
	enum td_cause trip;
	uint8_t way;               /* RUN: powered way; WAIT: way waited for */
	uint8_t last_way;          /* last powered way, TD_NO_WAY at start */
	bool located;              /* an end was touched and nothing contradicted it since */
	td_ns since_ns;            /* RUN: powered since */
	td_ns cut_ns;              /* last cut (at start: the start): the decision, then the write */
	td_ns way_cut_ns[TD_WAYS]; /* the same of each way by itself */
	bool unwritten;            /* cut_ns is still the decision */
	/* Powered time in each way since the axis left the other end; going back gives it back in
	 * proportion. Committed at the cut; while running td_travel_spent() adds the running part. */
	td_ns spent_ns[TD_WAYS];
	struct td_hold hold; /* RUN, WAIT: the one that holds; else the last one */
};

/* What an event did; for news and tests. */
enum td_axis_action {
	TD_DO_FAIL = 0, /* impossible combination: off, tripped with cause INTERNAL */
	TD_DO_NOTHING,
	TD_DO_QUEUE, /* take the new hold, wait */
	TD_DO_TURN,  /* cut, take the new hold, wait */
	TD_DO_POWER,
	TD_DO_CUT,
	TD_DO_DROP,  /* forget the waiting request */
	TD_DO_TRIP,  /* latch the cause; cut if powered */
	TD_DO_CLEAR, /* unlatch; never powers */
	TD_AXIS_ACTIONS
};

/* The argument of an event: only what the event needs is read. */
struct td_axis_input {
	enum td_axis_event event;
	td_ns now_ns;
	uint8_t way;         /* ASK */
	struct td_hold hold; /* ASK */
	enum td_cause cause; /* TRIP */
};

/* Everything off, tripped by nothing, counted as cut at `now_ns` in an unknown way. */
void td_axis_init(struct td_axis *axis, td_ns now_ns);

/* One event through the table. Total: an impossible state or event ends as TD_DO_FAIL. */
enum td_axis_action td_axis_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				  const struct td_axis_input *input);

/* R3: the inputs of an axis that was cut are low on the lines since `now_ns`: its pauses count from there. */
void td_axis_written(struct td_axis *axis, td_ns now_ns);

/* The two bridge inputs, bit `way`. 0 for every state but a healthy RUN. */
uint32_t td_axis_outputs(const struct td_axis *axis);

/* Powered, or cut less than its rest time ago. */
bool td_axis_moving(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns);

/* R3: the earliest time `way` may be powered. */
td_ns td_axis_earliest(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way);

#endif
