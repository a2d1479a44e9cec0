/* SPDX-License-Identifier: MIT */
/*
 * A second opinion on the core while it runs: does the output word of each step obey the rule book?
 *
 * The monitor sees what an outsider sees: the rules, the events as the core was given them (levels, requests,
 * stops, resets ...) and the outputs after each step. It shares no state with the core, and of its
 * arithmetic only the sums of times (time.h) and what the rules hold ready-made (rating.h, the twist a second). Pure like
 * the core: no heap, no I/O, no clock, no globals; total: any bytes may stand in an event.
 *
 * It is one-sided: whatever it reports is a breach of a rule; power that stays away is never one. Where it
 * cannot know what the core decided (the core may refuse for reasons of its own) it takes the view that allows
 * more. What follows from that:
 *   - R4, R5, R6: powered time is counted from the last time anything may have given it back or begun it anew;
 *     going the other way gives back a little more than its proportion. A reset begins it anew where the axis may have
 *     tripped: one of its ends became active or changes often, or its time may have been up.
 *   - R3: the rest time counts where a way comes again without the other one in between.
 *   - R7: a request the core may have taken counts as taken until its lease is over, somebody ends it, or the
 *     axis was powered for somebody else.
 *   - R8, an end that is reached too early: known where it is certain that the core knew the place of the axis (it came
 *     to an end while powered or rolling, or stood there at a reset), that it goes there, and that it was powered for less
 *     since than the rules ask for. Resets away from the ends leave the place unknown.
 *   - R11: a trip is known where it follows from levels and times alone: both ends, the wrong end, an end that
 *     chatters or comes too early, an end not left in time, the travel limit, lost lines. A lock is known where it follows from two trips
 *     that are known, or was kept; a visitor's reset counts as taken unless the trip is certainly one for the keeper.
 *   - R12: every axis was cold and rested at the beginning, and whenever the keeper vouches for it while it is off.
 *     The winding and the powered time are counted by monitor_duty.h, whose tolerance is stated there.
 *   - R13: a start is a reversal where the axis may still turn the other way (supply.h) at the moment of the
 *     start; the core also takes one for it that was one when it began to wait. Who is next in line is not judged.
 *   - R11: a visitor's reset was taken where the axis had certainly tripped, nobody but visitors reset it, and it is
 *     powered again: at the first or the last of the resets that may have been taken, or between. More than the rules allow
 *     within an hour, of all axes together, is a breach of the start that shows it. A restart begins anew, as in the core.
 *   - R18: the turns are bounds, the doubt is its least; what is certain of them stands in monitor_twist.h, where the
 *     steering can have stood in monitor_cable.c. A way is twisted beyond the limit where it is for every place of
 *     the steering.
 * R9 is judged with R2: which level means "active". Not judged: R16, the guard, which is another program's, and R19,
 * lamps and servos, which no output of the core drives.
 *
 * Use: td_monitor_init() with the core, and td_monitor_keep_twist() if something kept was given back to it; then for
 * every event td_monitor_see() and, with the outputs of the core's step for that event, td_monitor_judge(). Nothing
 * blocks or fails.
 */
#ifndef TD_CORE_MONITOR_H
#define TD_CORE_MONITOR_H

#include <stdbool.h>
#include <stdint.h>

#include "core/breach.h"
#include "core/event.h"
#include "core/limits.h"
#include "core/monitor_duty.h"
#include "core/monitor_twist.h"
#include "core/rules.h"
#include "core/time.h"

/* Sessions whose requests for one axis are told apart; what is beyond counts as one crowd that may do what any
 * of its members may. */
enum { TD_MONITOR_CLAIMS = 4 };

struct td_monitor_switch {
	bool raw;    /* the level means "active" */
	bool active; /* filtered */
	td_ns since_ns;
};

/* R8: how often a contact changed of late. */
struct td_monitor_contact {
	td_ns changed_ns[TD_CHATTER_CHANGES_MAX +
			 1]; /* changes that are not the bounce of another, newest first */
	uint8_t changes;     /* how many of them are known */
	bool chatters;       /* too often, and not reset since */
};

/* A request that may be what an axis is powered for. */
struct td_monitor_claim {
	uint32_t session; /* 0: unused, or the crowd */
	uint32_t number;
	uint32_t seq;
	uint8_t way;
	bool live;   /* nothing has ended it yet */
	bool covers; /* it was live and for this way when the present power began */
	bool vague;  /* nobody can tell which of its renewals counted: they only extend it */
	td_ns until_ns;
};

struct td_monitor_way {
	bool on;
	bool rises;       /* came on in the step that is judged */
	bool fell;        /* went off in the last step */
	td_ns low_ns;     /* low since: the decision, then the write */
	td_ns rose_ns;    /* on since */
	td_ns counted_ns; /* on: counted in `least_ns` up to here */
	td_ns least_ns;   /* the core counts no less powered time than this ... */
	td_ns most_ns;    /* ... and no more than this (at the last cut) */
	bool suspect;     /* R11: tripped while on, and certainly not come to its end since */
	bool locked;      /* R11: ... twice, or before the restart, and no keeper has reset since */
};

/* R13: the last start of an axis. */
struct td_monitor_load {
	td_ns since_ns;
	bool reversal;
	td_ns lead_ns; /* so long after the last start of any axis that has a weight ... */
	td_ns gap_ns;  /* ... and no sooner than this it had to come */
};

/* R11: visitors' resets of one axis, of which one was taken for certain if it is powered again. */
struct td_monitor_pardon {
	bool pending;
	bool taken; /* the last start of the axis was it */
	td_ns first_ns;
	td_ns last_ns;
};

/* R11: visitors' resets that were certainly taken. */
struct td_monitor_resets {
	uint8_t count;                             /* how many of them are known */
	td_ns taken_ns[TD_VISITOR_RESETS_MAX + 1]; /* no earlier than this, newest first ... */
	td_ns last_ns;                             /* ... and none of them later than this */
};

struct td_monitor_axis {
	bool tripped;
	bool fresh_trip;     /* tripped in the step that is judged */
	enum td_breach trip; /* what power would be in that step */
	bool keepers;        /* tripped, and certainly by what only the keeper resets */
	bool unseen;         /* it may have tripped, known or not, since it was powered last */
	bool located;        /* R8: where it stands is certainly known, unless it tripped unseen ... */
	bool lost;           /* ... and certainly not known */
	bool unwritten;
	uint8_t last_way; /* last powered way, TD_NO_WAY at start */
	td_ns cut_ns;     /* last cut: the decision, then the write */
	td_ns stop_ns;    /* requests heard no later are overtaken ... */
	td_ns doubt_ns;   /* ... and those heard no later than this may be */
	struct td_monitor_pardon pardon;
	struct td_monitor_duty duty;
	struct td_monitor_load load;
	struct td_monitor_way way[TD_WAYS];
	struct td_monitor_claim claim[TD_MONITOR_CLAIMS];
	struct td_monitor_claim crowd;
	uint32_t last_session; /* powered last, and nobody else can have held since; 0 = unknown */
	uint32_t last_number;
	td_ns ended_ns;           /* when the last claim ended */
	td_ns denied_until_ns;    /* how long the last refused request would have held, had it been taken */
	uint8_t denied_way;       /* ... which way */
	enum td_breach denied_as; /* ... and what power by it is */
};

struct td_monitor {
	td_ns now_ns;
	bool armed;
	bool known; /* levels */
	bool latched;
	uint32_t outputs; /* after the last step */
	uint32_t rose;    /* switches that became active in this step */
	bool asked;       /* this step's event is a well-formed start of a hold: `event` */
	struct td_event event;
	td_ns start_ns; /* R13: last start of an axis that has a weight */
	td_ns gap_ns;   /* ... and how long until the next */
	struct td_monitor_resets resets;
	struct td_monitor_twist twist;
	struct td_monitor_switch sw[TD_SWITCHES_MAX];
	struct td_monitor_contact contact[TD_SWITCHES_MAX];
	struct td_monitor_axis axis[TD_AXES_MAX];
};

struct td_verdict {
	enum td_breach breach; /* TD_BREACH_NONE: every rule held */
	uint8_t rule;          /* its number, 0 = none */
	uint8_t axis;          /* TD_NO_AXIS, TD_NO_WAY where they do not apply */
	uint8_t way;
	td_ns at_ns;
	td_ns measured_ns; /* the time that broke a bound: gap, powered time, time past the lease; else 0 */
	td_ns bound_ns;    /* the bound */
};

/* As td_core_init(): everything off, not armed, no level known. */
void td_monitor_init(struct td_monitor *monitor, const struct td_rules *rules, td_ns now_ns);

/* R18: the twist of the cable as it was kept over a restart and given back to the core. */
void td_monitor_keep_twist(struct td_monitor *monitor, const struct td_twist *kept);

/* The event the core is about to be given, or was just given. */
void td_monitor_see(struct td_monitor *monitor, const struct td_rules *rules, const struct td_event *event);

/*
 * The outputs of the step for the event seen last (bit axis * 2 + way), decided at `now_ns` (the core's time; earlier
 * than the event counts as the event's). Writes all of *verdict: of the first axis that breaks a rule the weightiest
 * breach; R13 is looked at last. True if every rule held. The monitor goes on from these outputs whatever the verdict was.
 */
bool td_monitor_judge(struct td_monitor *monitor, const struct td_rules *rules, td_ns now_ns,
		      uint32_t outputs, struct td_verdict *verdict);

#endif
