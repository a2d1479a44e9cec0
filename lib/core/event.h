/* SPDX-License-Identifier: MIT */
/* What the core is told: one plain struct for every kind of event. */
#ifndef TD_CORE_EVENT_H
#define TD_CORE_EVENT_H

#include <stdint.h>

#include "core/time.h"

/* Visitor is 0: what nobody set has the fewer rights. */
enum td_role { TD_ROLE_VISITOR = 0, TD_ROLE_KEEPER = 1 };

enum td_event_kind {
	TD_EVENT_TIME = 0,   /* time passed */
	TD_EVENT_LEVELS,     /* levels of all switch lines were read */
	TD_EVENT_REQUEST,    /* start (seq 0) or renew (seq > 0) a hold */
	TD_EVENT_RELEASE,    /* let go one hold */
	TD_EVENT_GONE,       /* a session ended: all its holds end */
	TD_EVENT_STOP,       /* stop one axis or all (TD_ALL_AXES); open to everyone */
	TD_EVENT_LATCH,      /* latched stop on; open to everyone */
	TD_EVENT_LATCH_KEPT, /* latched stop on, because it was on before the restart */
	TD_EVENT_RESET,      /* clear trip and locks of one axis, or of all and the latch (TD_ALL_AXES) */
	TD_EVENT_ARM,        /* every start condition outside the core is met */
	TD_EVENT_DISARM,     /* one no longer is */
	TD_EVENT_LINES_LOST, /* R15: trip everything and disarm */
	TD_EVENT_WRITTEN,    /* outputs that went low in the last step are low on the lines since at_ns */
	TD_EVENT_COOLED, /* the keeper vouches for it: this motor (or all: TD_ALL_AXES) is cold and rested */
	TD_EVENT_BREACH, /* somebody saw outputs that break a rule (monitor.h): trip everything */
	TD_EVENT_LOCK_KEPT, /* a way is locked, because it was before the restart */
	TD_EVENT_UNTWISTED, /* R18: the cable was looked at and is straight; the keeper's alone */
	TD_EVENT_TURN_OVER, /* a visitor's turn ended: all holds of its session end, as with GONE */
	TD_EVENT_KINDS
};

struct td_event {
	enum td_event_kind kind;
	td_ns at_ns; /* when; earlier than a former event counts as the former one's time */

	uint32_t levels; /* LEVELS: bit i = electrical level of switch i's line, 1 = high */

	uint8_t axis; /* REQUEST, RELEASE, LOCK_KEPT; STOP, RESET, COOLED: or TD_ALL_AXES */
	uint8_t way;  /* REQUEST, LOCK_KEPT */
	uint8_t role; /* REQUEST, RESET, COOLED, UNTWISTED: enum td_role */

	uint32_t
		session; /* REQUEST, RELEASE, GONE, TURN_OVER, RESET, COOLED, UNTWISTED: who; never reused while the daemon lives */
	uint32_t hold;  /* REQUEST, RELEASE: number of the hold, rising within a session */
	uint32_t seq;   /* REQUEST: 0 starts the hold, then rising with each renewal */
	td_ns lease_ns; /* REQUEST: TD_LEASE_MIN_NS ... TD_LEASE_MAX_NS, counted from heard_ns */
	td_ns heard_ns; /* REQUEST, STOP: when the front heard it; <= at_ns, else at_ns counts */
};

/* When the event was heard, at `now_ns`: a time that cannot be counts as now. */
static inline td_ns td_event_heard_ns(const struct td_event *event, td_ns now_ns)
{
	return event->heard_ns <= 0 || event->heard_ns > now_ns ? now_ns : event->heard_ns;
}

#endif
