/* SPDX-License-Identifier: MIT */
/*
 * The rule set: all the numbers the core decides by, plain and of fixed size. It is made from the
 * configuration file by lib/config and does not change while the core runs.
 *
 * Contract: a rule set the core is started with has passed td_rules_check(). The ranges are those of
 * limits.h.
 */
#ifndef TD_CORE_RULES_H
#define TD_CORE_RULES_H

#include <stdbool.h>
#include <stdint.h>

#include "core/chatter.h"
#include "core/duty.h"
#include "core/limits.h"
#include "core/supply.h"
#include "core/time.h"
#include "core/trend.h"
#include "core/twist.h"

/* Normally-closed is 0: what nobody set reads a broken wire as an active switch (R9). */
enum td_contact { TD_CONTACT_NC = 0, TD_CONTACT_NO = 1 };

/* Where the line goes when the contact is open: up through a pull-up (contact to ground), or down
 * through a pull-down (contact to the supply of the logic). */
enum td_pull { TD_PULL_UP = 0, TD_PULL_DOWN = 1 };

struct td_switch_rules {
	enum td_contact contact;
	enum td_pull pull;
	td_ns confirm_ns; /* R2: active this long without a break counts; 0 ... TD_CONFIRM_MAX_NS */
	td_ns clear_ns;   /* inactive this long without a break counts; TD_CLEAR_MIN_NS ... _MAX_NS */
	struct td_chatter_rules chatter; /* R8 */
};

/* R17: what another axis must not be doing while this way is powered. */
enum td_bar_kind {
	TD_BAR_MOVING = 0, /* not while it moves or coasts; holds for both axes, whoever came first */
	TD_BAR_AT_END,     /* not while it is at its end `way` */
	TD_BAR_OFF_END,    /* not unless it is at its end `way` */
};

struct td_bar {
	enum td_bar_kind kind;
	uint8_t axis;
	uint8_t way; /* TD_BAR_AT_END, TD_BAR_OFF_END; that way has an end switch */
};

struct td_way_rules {
	uint8_t end_switch; /* index of the end switch, or TD_NO_SWITCH */
	td_ns reach_ns;     /* powered time from the other end to this one: learned travel or stroke time */
	td_ns limit_ns;     /* with an end switch: R4 trip after this much, reach_ns ... 10 x reach_ns.
	                       Without: R6 cut after this much (the same range). */
	td_ns early_ns;     /* R8: an end reached in less is a trip; 0 = not checked, else < reach_ns */
	td_ns leave_ns;     /* R5: the end switch of the OTHER way must have cleared by then */
	struct td_trend_rules trend; /* M14; warns of nothing where the way has no end switch */
	uint8_t bars;                /* number of entries used in bar[] */
	struct td_bar bar[TD_BARS_MAX];
};

struct td_axis_rules {
	td_ns dead_ns;     /* R3: both inputs low between opposite ways */
	td_ns rest_ns;     /* R3: before the same way again; as long the axis counts as moving */
	td_ns restored_ns; /* R6: standing still this long gives the stroke back; 0 = never, and 0 where
	                      a way has an end switch */
	struct td_duty_rules duty; /* R12; least_ns >= TD_DUTY_LEAST_MIN_NS; see td_rules_any_duty() */
	struct td_way_rules way[TD_WAYS];
};

/* R18: what twists the machine's cable. Where twist.source is TD_TWIST_UNLIMITED nothing else is looked at. */
struct td_cable_rules {
	struct td_twist_rules twist; /* its rates are by way of `drive` */
	uint8_t drive;               /* axis that drives the machine */
	uint8_t steering;            /* another axis, that steers it */
	uint8_t left;       /* the way of `steering` that turns the machine left when it drives ahead */
	uint8_t springs;    /* 1: let go, the steering is straight again within its rest time and, powered, at
	                                its stop; 0: it stays where it was left */
	uint8_t contact[2]; /* SENSOR: the two switches, which serve nothing else */
};

struct td_rules {
	uint8_t axes;           /* 1 ... TD_AXES_MAX */
	uint8_t switches;       /* 0 ... TD_SWITCHES_MAX */
	uint8_t stop_switch;    /* the emergency-stop input (R10), or TD_NO_SWITCH */
	uint8_t visitor_resets; /* R11: in any hour; 0 (none) ... TD_VISITOR_RESETS_MAX */
	struct td_switch_rules sw[TD_SWITCHES_MAX];
	struct td_axis_rules axis[TD_AXES_MAX];
	struct td_supply_rules supply; /* R13; see td_rules_any_supply() */
	struct td_cable_rules cable;   /* R18; see td_rules_any_cable() */
};

/* Continuous duty: powered for ever is within it. */
struct td_duty_rules td_rules_any_duty(void);

/* A supply that bears everything at once. */
struct td_supply_rules td_rules_any_supply(uint8_t axes);

/* No cable: nothing is counted. */
struct td_cable_rules td_rules_any_cable(void);

enum td_rules_fault {
	TD_RULES_OK = 0,
	TD_RULES_AXES,     /* number of axes out of range */
	TD_RULES_SWITCHES, /* number of switches out of range */
	TD_RULES_DEAD_TIME,
	TD_RULES_REST,
	TD_RULES_RESTORED,
	TD_RULES_REACH,
	TD_RULES_LIMIT,
	TD_RULES_EARLY,
	TD_RULES_LEAVE,
	TD_RULES_END_SWITCH, /* names no switch, or one that another way or the stop input uses */
	TD_RULES_STOP_SWITCH,
	TD_RULES_CONFIRM, /* confirm or clear time, contact or pull out of range */
	TD_RULES_DUTY,    /* a number of duty.h out of range */
	TD_RULES_SUPPLY,  /* a number of supply.h out of range, or another number of axes */
	TD_RULES_TREND,   /* share or number of travels out of range, or there is no end switch */
	TD_RULES_CHATTER, /* number of changes or window out of range */
	TD_RULES_BAR,     /* names no axis, itself, or an end without a switch */
	TD_RULES_VISITOR_RESETS,
	TD_RULES_CABLE, /* a number of twist.h out of range, or no such axes, way or switches of its own */
};

/* Where the first fault is. `axis`, `way` and `sw` are TD_NO_... where they do not apply. */
struct td_rules_verdict {
	enum td_rules_fault fault;
	uint8_t axis;
	uint8_t way;
	uint8_t sw;
};

/* Checks every range and cross-reference; the first fault found is returned. Total: any bytes may be
 * passed. Does not block, does not change anything. */
struct td_rules_verdict td_rules_check(const struct td_rules *rules);

#endif
