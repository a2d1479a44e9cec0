/* SPDX-License-Identifier: MIT */
/*
 * The interlock of one machine. Pure: no heap, no I/O, no clock, no globals. Events go in; a set of
 * output levels, a next deadline and what happened come out. The same state and the same events give
 * the same outputs, bit for bit, on every machine.
 *
 * Use: fill a struct td_rules, td_core_init(), then one td_core_step() for every event, and one with
 * TD_EVENT_TIME no later than the returned deadline. The caller makes the outputs real, clearing
 * before setting, and after a write that cleared something says so with TD_EVENT_WRITTEN: dead time and rest
 * count from then, not from the decision. Nothing here blocks, allocates or fails: a bad event is refused with a cause.
 */
#ifndef TD_CORE_CORE_H
#define TD_CORE_CORE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/axis.h"
#include "core/cause.h"
#include "core/limits.h"
#include "core/rules.h"
#include "core/switch.h"
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
	TD_EVENT_RESET,      /* clear the trip of one axis, or latch and all trips (TD_ALL_AXES) */
	TD_EVENT_ARM,        /* every start condition outside the core is met */
	TD_EVENT_DISARM,     /* one no longer is */
	TD_EVENT_LINES_LOST, /* R15: trip everything and disarm */
	TD_EVENT_WRITTEN,    /* outputs that went low in the last step are low on the lines since at_ns */
	TD_EVENT_KINDS
};

struct td_event {
	enum td_event_kind kind;
	td_ns at_ns; /* when; earlier than a former event counts as the former one's time */

	uint32_t levels; /* LEVELS: bit i = electrical level of switch i's line, 1 = high */

	uint8_t axis; /* REQUEST, RELEASE; STOP and RESET: or TD_ALL_AXES */
	uint8_t way;  /* REQUEST */
	uint8_t role; /* REQUEST, RESET: enum td_role */

	uint32_t session; /* REQUEST, RELEASE, GONE: who; never reused while the daemon lives */
	uint32_t hold;    /* REQUEST, RELEASE: number of the hold, rising within a session */
	uint32_t seq;     /* REQUEST: 0 starts the hold, then rising with each renewal */
	td_ns lease_ns;   /* REQUEST: TD_LEASE_MIN_NS ... TD_LEASE_MAX_NS, counted from heard_ns */
	td_ns heard_ns;   /* REQUEST, STOP: when the front heard it; <= at_ns, else at_ns counts */
};

/* Something that happened in a step. Fields that do not apply are TD_NO_... or 0. */
struct td_news {
	enum td_cause cause;
	uint8_t axis;
	uint8_t way;
	uint8_t sw;
	uint32_t session; /* who held the axis, where somebody did */
	uint32_t hold;
};

/* More than one step can produce: eight for each axis, two for each switch, eight for the machine. */
enum { TD_NEWS_MAX = 8 * TD_AXES_MAX + 2 * TD_SWITCHES_MAX + 8 };

struct td_result {
	uint32_t outputs;     /* bit axis * 2 + way; zero is everything off */
	td_ns deadline_ns;    /* step again no later than this; TD_NEVER: only when something happens */
	enum td_cause answer; /* for events that ask for something: what became of it; else NONE */
	uint16_t news_count;
	uint16_t news_lost; /* always 0 unless there is a bug; counted, never hidden */
	struct td_news news[TD_NEWS_MAX];
};

/* Why the latched stop is on; a bit set. */
enum { TD_LATCH_ASKED = 1, TD_LATCH_INPUT = 2, TD_LATCH_KEPT = 4 };

struct td_core {
	td_ns now_ns;
	bool armed;
	bool levels_known;
	uint8_t latch;
	td_ns stop_ns[TD_AXES_MAX]; /* R7: requests heard no later than this are overtaken */
	struct td_switch sw[TD_SWITCHES_MAX];
	struct td_axis axis[TD_AXES_MAX];
};

/* What status shows of one axis. */
struct td_axis_view {
	enum td_axis_state state;
	uint8_t way;          /* the way powered or waited for, else TD_NO_WAY */
	bool moving;          /* powered, or cut less than its rest time ago */
	bool at_end[TD_WAYS]; /* filtered end switches; false where there is none */
	int32_t position_ppm; /* 0 = end of way 0, 1000000 = end of way 1; -1 = unknown */
	td_ns lease_left_ns;  /* 0 where nobody holds it */
	td_ns wait_left_ns;   /* until a waiting request starts or the rest is over; 0 = none */
	enum td_cause trip;   /* TD_CAUSE_NONE unless tripped */
	uint32_t session;     /* who holds it; 0 = nobody */
	uint32_t hold;
};

/* Starts everything off, not armed, no level known, every axis counted as having been cut at
 * `now_ns` in an unknown way. `rules` has passed td_rules_check(). Never fails. */
void td_core_init(struct td_core *core, const struct td_rules *rules, td_ns now_ns);

/* Takes one event. Writes all of *result. `rules` is the same as at td_core_init(). Never fails; any
 * bytes may stand in *event. */
void td_core_step(struct td_core *core, const struct td_rules *rules, const struct td_event *event,
		  struct td_result *result);

/* Fills *view for `axis` at `now_ns` (>= the last step). An axis that does not exist gives the view
 * of a tripped one with cause INTERNAL. Changes nothing. */
void td_core_view(const struct td_core *core, const struct td_rules *rules, uint8_t axis, td_ns now_ns,
		  struct td_axis_view *view);

/* Filtered state of all switches: bit i set = switch i active. */
uint32_t td_core_active(const struct td_core *core, const struct td_rules *rules);

#endif
