/* SPDX-License-Identifier: MIT */
/*
 * A cart that works for a long simulated time and breaks again and again: axes that travel between their ends, switches
 * on them, and faults in wires, contacts, gears, edges and time. The monitor judges every step; what it finds fails
 * the cmocka test that runs it. Numbers are invented.
 */
#ifndef TD_TESTS_YARD_H
#define TD_TESTS_YARD_H

#include <stdbool.h>
#include <stdint.h>

#include "core/core.h"
#include "core/monitor.h"
#include "tests/support/dice.h"
#include "tests/support/insight.h"
#include "tests/support/rule_cart.h"

enum { YARD_CLIENTS = 3 };

/* X(IDENT, "words", one in so many steps): faults of a switch, of a gear, and of a moment */
/* clang-format off */
#define YARD_FAULTS(X) \
	X(BROKEN, "broken wires", 40000) \
	X(WELDED, "contacts that never open", 20000) \
	X(CHATTER, "chattering contacts", 20000) \
	X(JAM, "jams", 20000) \
	X(BACKWARD, "motors connected backward", 20000) \
	X(SLOW, "slow motors", 40000) \
	X(EDGE, "lost edges", 40) \
	X(LATE, "late steps", 2000) \
	X(JUMP, "clocks that jump ahead", 50000) \
	X(UNWRITTEN, "writes not told of", 200) \
	X(FORGED, "late, repeated or forged requests", 200) \
	X(VANISH, "clients lost", 3000) \
	X(FREEZE, "clients frozen", 3000) \
	X(LINES, "lines lost", 100000)
/* clang-format on */

enum fault {
#define TD_X(ident, words, odds) FAULT_##ident,
	YARD_FAULTS(TD_X)
#undef TD_X
		FAULT_KINDS
};

struct client {
	bool holds;
	bool frozen; /* asks no more, and does not know it */
	uint8_t axis;
	uint8_t way;
	uint32_t hold;
	uint32_t seq;
	uint32_t session;
	td_ns renew_ns;
	td_ns until_ns;
};

struct gear {
	td_ns at_ns;     /* 0 ... reach of way 1 */
	td_ns looked_ns; /* `at_ns` is that of then */
	td_ns until_ns[FAULT_KINDS];
};

struct yard {
	struct dice dice;
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor;
	struct insight insight;
	td_ns now_ns;
	uint32_t levels; /* as last told */
	uint32_t sessions;
	struct client client[YARD_CLIENTS];
	struct gear gear[RULE_AXES];
	td_ns sick_until_ns[RULE_SWITCHES][FAULT_KINDS];
	td_ns asleep_until_ns; /* deadlines are missed */
	td_ns repair_ns;       /* when the keeper comes by */
	td_ns rose_ns[RULE_AXES];
	uint32_t most_ma;
	uint64_t steps;
	uint64_t motions;
	uint64_t injected[FAULT_KINDS];
	uint64_t causes[256];
};

/* All the same each time but for the dice; nobody holds anything, nothing is armed. */
void yard_start(struct yard *yard);

bool yard_chance(struct yard *yard, uint32_t odds);
td_ns yard_up_to(struct yard *yard, td_ns most_ns);

/* True, and counted, if the fault comes now. */
bool yard_strikes(struct yard *yard, enum fault fault);
const char *yard_fault_words(enum fault fault);

/* One event at the present time, and the writes that follow from it. */
void yard_step(struct yard *yard, struct td_event event);

/* The levels as they are on the lines now. */
uint32_t yard_read_levels(struct yard *yard);

/* Time goes on a little, the machine moves, deadlines are kept unless the program sleeps, levels are looked at. */
void yard_time_passes(struct yard *yard);

/* Something may break. */
void yard_break_something(struct yard *yard);

#endif
