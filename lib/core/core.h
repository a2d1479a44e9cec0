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
#include "core/chatter.h"
#include "core/duty.h"
#include "core/event.h"
#include "core/limits.h"
#include "core/quota.h"
#include "core/rules.h"
#include "core/supply.h"
#include "core/switch.h"
#include "core/time.h"
#include "core/trend.h"
#include "core/twist.h"
#include "core/wear.h"

/* Something that happened in a step. Fields that do not apply are TD_NO_... or 0. */
struct td_news {
	enum td_cause cause;
	uint8_t axis;
	uint8_t way;
	uint8_t sw;
	uint8_t role;     /* RESET_DONE, COOLED, UNTWISTED: enum td_role of who did it; else TD_NO_ROLE */
	uint32_t session; /* who held the axis, where somebody did; with a role: who did it */
	uint32_t hold;
};

/* More than one step can produce: eight for each axis, three for each switch, eight for the machine. */
enum { TD_NEWS_MAX = 8 * TD_AXES_MAX + 3 * TD_SWITCHES_MAX + 8 };

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

/* M14: how long the ways of an axis take, from end to end. */
struct td_pace {
	bool from_end; /* runs, and began at the end of the other way */
	struct td_trend trend[TD_WAYS];
};

struct td_core {
	td_ns now_ns;
	bool armed;
	bool levels_known;
	uint8_t latch;
	td_ns stop_ns[TD_AXES_MAX]; /* R7: requests heard no later than this are overtaken */
	/* R11, bit axis * 2 + way. A trip while a way is powered makes that way suspect; a second one without a
	 * completed motion of it in between locks it. Completed is what ends at its end switch, or after the whole
	 * stroke where there is none. The keeper's reset of the axis takes the lock away; then it counts anew. */
	uint32_t suspect;
	uint32_t locked;
	struct td_quota resets; /* R11: the visitors' */
	struct td_switch sw[TD_SWITCHES_MAX];
	struct td_chatter chatter[TD_SWITCHES_MAX]; /* R8 */
	struct td_axis axis[TD_AXES_MAX];
	struct td_duty duty[TD_AXES_MAX]; /* R12 */
	td_ns duty_cut_ns
		[TD_AXES_MAX];   /* R12: of a powered axis, when its duty ends; reckoned at its start */
	struct td_supply supply; /* R13 */
	struct td_wear wear[TD_AXES_MAX];
	struct td_pace pace[TD_AXES_MAX];
	struct td_twist twist; /* R18; see record.h */
	td_ns twist_ns;        /* driving is counted in it up to here */
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
	bool locked[TD_WAYS]; /* R11: this way waits for the keeper's reset */
	uint32_t session;     /* who holds it; 0 = nobody */
	uint32_t hold;
	bool slower[TD_WAYS]; /* M14: this way takes longer than learned, and was warned of */
	int32_t slower_ppm
		[TD_WAYS]; /* how much longer (negative: less); TD_NO_TREND while nothing is learned */
};

/* What status shows of the twist of the cable (R18), in millionths of a turn. */
struct td_twist_view {
	bool counted;        /* false: this machine counts no turns, the rest is 0 */
	uint8_t blocked;     /* bit `way` of the drive: driving so would add twist beyond the limit now */
	int64_t net_uturn;   /* to the left (counter-clockwise from above) */
	int64_t doubt_uturn; /* what the limit shrinks by */
};

/* Starts everything off, not armed, no level known, every axis counted as having been cut at
 * `now_ns` in an unknown way, the cable straight. `rules` has passed td_rules_check(). Never fails. */
void td_core_init(struct td_core *core, const struct td_rules *rules, td_ns now_ns);

/* Takes one event. Writes all of *result. `rules` is the same as at td_core_init(). Never fails; any
 * bytes may stand in *event. */
void td_core_step(struct td_core *core, const struct td_rules *rules, const struct td_event *event,
		  struct td_result *result);

/* Fills *view for `axis` at `now_ns` (>= the last step). An axis that does not exist gives the view
 * of a tripped one with cause INTERNAL. Changes nothing. */
void td_core_view(const struct td_core *core, const struct td_rules *rules, uint8_t axis, td_ns now_ns,
		  struct td_axis_view *view);

/* M14: what was learned of a way's travel time, for what survives restarts; NULL for no such way. Belongs to the core. */
const struct td_trend *td_core_trend(const struct td_core *core, uint8_t axis, uint8_t way);

/* Gives that back after td_core_init(). One that cannot be begins anew; no such way: nothing happens. */
void td_core_set_trend(struct td_core *core, uint8_t axis, uint8_t way, const struct td_trend *trend);
/* The same for the twist of the cable, as of the last step. */
struct td_twist_view td_core_view_twist(const struct td_core *core, const struct td_rules *rules);

/* Filtered state of all switches: bit i set = switch i active. */
uint32_t td_core_active(const struct td_core *core, const struct td_rules *rules);

/* R11: the locked ways, bit axis * 2 + way. They are to be kept over restarts: give each back to a new core as
 * TD_EVENT_LOCK_KEPT before it is armed. */
uint32_t td_core_locked(const struct td_core *core);

/* R11: from when on visitors may reset; in the past, or 0: now. TD_NEVER: they never may. */
td_ns td_core_resets_free_ns(const struct td_core *core, const struct td_rules *rules);

/* R8: the switches that are marked as chattering, likewise. */
uint32_t td_core_chatters(const struct td_core *core, const struct td_rules *rules);

#endif
