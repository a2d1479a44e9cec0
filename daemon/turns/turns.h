/* SPDX-License-Identifier: MIT */
/*
 * Who of the visitors may move the machine: one at a time, in the order in which they came. Pure: no clock, no heap,
 * no I/O; time is an argument and never runs backwards (an earlier one counts as the last one known).
 *
 * A visitor asks for a place in line; the first in line has the turn. A turn ends when
 *   - its length is over and somebody waits (if nobody does, it begins anew),
 *   - its visitor has asked for no motion for the idle time and somebody waits,
 *   - its visitor gives it back or goes away,
 *   - the keeper ends it, or closes the machine to visitors.
 * Whoever had a turn is out of line and may ask for a new place, behind all others. Between two turns of
 * different visitors lies a pause in which no visitor moves anything, so that whoever comes next finds everything at rest.
 *
 * A turn is permission to ask, no more: every rule of the core holds as ever, stop and latch are open to all, and the
 * keeper needs no turn.
 */
#ifndef TD_DAEMON_TURNS_H
#define TD_DAEMON_TURNS_H

#include <stdbool.h>
#include <stdint.h>

#include "config/config.h"

enum { TD_NO_PLACE = -1 };

struct td_turn_place {
	uint32_t session;
	uint32_t uid;
};

/* Why a turn ended. */
enum td_turn_end {
	TD_TURN_GOES_ON = 0,
	TD_TURN_TIME,   /* its length is over */
	TD_TURN_IDLE,   /* nothing was asked for */
	TD_TURN_LEFT,   /* given back, or the visitor went away */
	TD_TURN_KEEPER, /* ended by the keeper */
};

enum td_turn_joined {
	TD_TURN_FULL = 0,  /* no place left */
	TD_TURN_USER_FULL, /* this user has all the places he may have */
	TD_TURN_TWICE,     /* in line already */
	TD_TURN_IN_LINE,
};

struct td_turns {
	struct td_turn_place line[TD_TURN_PLACES_MAX]; /* the first has the turn, if `on` */
	int places;                                    /* taken */
	bool on;
	bool closed; /* by the keeper */
	td_ns now_ns;
	td_ns began_ns; /* on: this turn */
	td_ns used_ns;  /* on: last asked for motion, or began */
	td_ns free_ns;  /* no turn begins before this */
};

/* What happened since the last look; a fixed order: first the end, then the beginning. */
struct td_turn_news {
	enum td_turn_end ended;
	uint32_t ended_session; /* whose; 0 = none */
	uint32_t began_session; /* 0 = none */
};

void td_turns_init(struct td_turns *turns, td_ns now_ns);

/* A place at the end of the line. */
enum td_turn_joined td_turns_join(struct td_turns *turns, const struct td_turn_rules *rules, uint32_t session,
				  uint32_t uid, td_ns now_ns);

/* Gives up a place or the turn; one who is not in line changes nothing. What it says is to be acted on: whoever lost the turn
 * must not go on moving. */
struct td_turn_news td_turns_leave(struct td_turns *turns, const struct td_turn_rules *rules,
				   uint32_t session, td_ns now_ns);

/* The keeper ends the turn that is on. */
struct td_turn_news td_turns_end(struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns);

/* The keeper closes the machine to visitors (the line stays, the turn ends) or opens it again. */
struct td_turn_news td_turns_close(struct td_turns *turns, const struct td_turn_rules *rules, bool closed,
				   td_ns now_ns);

/* The visitor asked for motion. */
void td_turns_use(struct td_turns *turns, uint32_t session, td_ns now_ns);

/* Time passed: at most one turn ends and at most one begins. Look again at td_turns_due(). */
struct td_turn_news td_turns_tend(struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns);

/* When td_turns_tend() has something to do though nobody does anything; TD_NEVER. */
td_ns td_turns_due(const struct td_turns *turns, const struct td_turn_rules *rules);

/* Whether this visitor may ask for motion now. */
bool td_turns_may(const struct td_turns *turns, const struct td_turn_rules *rules, uint32_t session);

/* Who has the turn; 0 = nobody. */
uint32_t td_turns_holder(const struct td_turns *turns);

/* 0 = has the turn or is next to have it, 1 = one is before it ...; TD_NO_PLACE. */
int td_turns_place(const struct td_turns *turns, uint32_t session);

/* How long until the turn of whoever is at `place`, if all before use theirs to the full; 0 for a turn that is on. For a place behind
 * the line: what one who joined now would wait. While the machine is closed it counts from now, since nobody knows
 * for how long. */
td_ns td_turns_wait(const struct td_turns *turns, const struct td_turn_rules *rules, int place, td_ns now_ns);

/* What is left of the turn that is on, as far as somebody waits for it to end; 0 = none is on. */
td_ns td_turns_left(const struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns);

#endif
