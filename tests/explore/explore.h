/* SPDX-License-Identifier: MIT */
/*
 * Every state that the real core can reach, one axis at a time: breadth first from the start, with every kind of event,
 * until nothing new turns up. Time goes in ticks, and the rules are so small that all their times are a few ticks.
 * After each transition the monitor (core/monitor.h) judges the outputs.
 *
 * The core is lib/core itself, compiled for one axis and three switches (explore.mk); nothing in it is replaced.
 *
 * A state is the core's and the monitor's together. Two of them are one where no event can tell them apart; what
 * that rests on is said in state.c, and test_normal.c tries it: a core that is never normalised must go through the same
 * states. Where the monitor's counts are normalised it only becomes stricter.
 */
#ifndef TD_TESTS_EXPLORE_H
#define TD_TESTS_EXPLORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/core.h"
#include "core/monitor.h"

_Static_assert(TD_AXES_MAX == 1 && TD_SWITCHES_MAX == 3, "the small core");

#define TICK_NS TD_MS(50)

enum {
	SW_STOP,        /* the emergency-stop input */
	SW_LOW,         /* end switch of way 0: filtered, so that "perhaps active" lasts */
	SW_HIGH,        /* end switch of way 1: not filtered */
	LATE_TICKS = 3, /* longer than any limit: the caller slept through its deadlines */
};

/* --- variants.c: the rule sets ---------------------------------------------------------------------------- */

enum { CAUSES_MAX = 32 };

struct variant {
	const char *name;
	struct td_rules rules;
	enum td_cause causes[CAUSES_MAX]; /* what must happen somewhere, up to NONE */
};

enum { VARIANT_ENDS, VARIANT_STROKE, VARIANT_RESTORED, VARIANT_ONE_END, VARIANTS };

struct variant variant_make(int which);

/* --- world.c: core and monitor side by side --------------------------------------------------------------- */

struct world {
	struct td_core core;
	struct td_monitor monitor;
};

/* A core that is not quite right, for seeing that the search notices it. NULL members change nothing. */
struct flaw {
	void (*rules)(struct td_rules *rules); /* the core goes by other rules ... */
	bool (*event)(struct td_event *event); /* ... hears otherwise; false: nothing ... */
	uint32_t (*outputs)(uint32_t outputs, const struct world *before); /* ... or is written otherwise */
};

/* What became of one event. */
struct outcome {
	struct td_result result;
	uint32_t outputs; /* as judged */
	struct td_verdict verdict;
	const char *fault; /* what is wrong, for people; NULL = nothing */
};

struct law {
	struct td_rules rules;      /* what the monitor goes by */
	struct td_rules core_rules; /* what the core goes by: the same, without a flaw */
	const struct flaw *flaw;
};

void world_init(struct world *world, const struct law *law);

/* One event through core and monitor. True if every rule held; else outcome->fault. */
bool world_step(struct world *world, const struct law *law, const struct td_event *event,
		struct outcome *outcome);

/* All switches clear, reset, armed and rested: the axis can be powered again. */
bool world_recovers(const struct world *world, const struct law *law);

/* --- state.c: states that can be compared ----------------------------------------------------------------- */

enum { KEY_SIZE = 48 };

struct key {
	uint64_t word[KEY_SIZE / 8];
};

/* Normalises *world in place; a request may be heard `heard_ticks` before it comes. True if the sessions changed names
 * (1 and 2 turned). */
bool state_normalise(struct world *world, const struct td_rules *rules, int heard_ticks);

/* A normalised world as a key, and back. What a key cannot hold ends the program. */
struct key state_pack(struct world *world);
struct key state_pack_core(struct world *world); /* the core's half alone */
void state_unpack(struct world *world, const struct key *key, const struct law *law);

/* --- moves.c: what can happen ----------------------------------------------------------------------------- */

enum { MOVES_MAX = 200 };

enum number { NUMBER_NEW, NUMBER_SAME, NUMBER_OLD };
enum order { ORDER_START, ORDER_NEXT, ORDER_AGAIN };

struct move {
	struct td_event event; /* times and numbers are filled in */
	uint8_t ticks;         /* time that passes before it */
	uint8_t heard_ticks;   /* how long before that it was heard */
	enum number number;    /* of the hold, as seen from those of its session */
	enum order order;      /* of the renewal */
};

/* What there is besides one client that keeps to the protocol, end switches and time that passes by itself. */
enum move_kind {
	MOVES_LATCH = 1, /* the latched stop, the stop input, resets of everything, resets by a visitor */
	MOVES_TWO = 2,   /* a second session */
	MOVES_LATE = 4,  /* events that bring a tick with them; late, repeated, old and malformed requests */
	MOVES_MACHINE = 8, /* disarming, lost lines, a latch that was kept */
	MOVES_ALL = 15,
};

struct moves {
	unsigned kinds;  /* bit set of enum move_kind */
	int heard_ticks; /* the most of any move */
	size_t count;
	struct move move[MOVES_MAX];
};

void moves_make(struct moves *moves, const struct td_rules *rules, unsigned kinds);
struct td_event move_event(const struct move *move, const struct world *world);
void move_text(const struct move *move, const struct td_rules *rules, char *text, size_t size);

/* --- store.c: a set of states, in the order in which they were found -------------------------------------- */

struct origin {
	uint32_t parent;
	uint16_t move;
	uint16_t depth;
};

struct store {
	uint32_t count;
	uint32_t room;
	struct key *key;
	struct origin *origin;
	uint32_t slots; /* a power of two */
	uint32_t *slot; /* index + 1; 0 = free */
};

void store_open(struct store *store);
void store_close(struct store *store);

/* True if it was not there yet. */
bool store_add(struct store *store, const struct key *key, struct origin origin);

/* --- search.c --------------------------------------------------------------------------------------------- */

struct search {
	struct law law;
	struct moves moves;
	struct store store;
	uint32_t states_max; /* gives up there */
	bool recovery;       /* tries world_recovers() from each state */
	/* results */
	uint64_t transitions;
	uint64_t starts;
	uint64_t causes[2]; /* bit set of those that were news */
	unsigned depth;
	bool closed;   /* nothing is left to look at */
	bool at_fault; /* a rule broke at `fault_from` by `fault_move` */
	uint32_t fault_from;
	uint16_t fault_move;
	struct outcome fault;
	double seconds;
};

void search_run(struct search *search);
/* The shortest sequence of events to the fault, a line each. */
void search_print_path(const struct search *search);
unsigned search_path_length(const struct search *search);
void search_close(struct search *search);

#endif
