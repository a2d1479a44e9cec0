/* SPDX-License-Identifier: MIT */
/*
 * R13: the supply budget. A motor draws its starting current until it turns, and the supply that feeds all
 * axes may feed the computer too. Every axis that is powered has a weight: its starting weight during its
 * start window, its running weight after it. The sum stays within the budget, and starts keep a gap.
 *
 * A reversal counts as two starts: a motor that still turns the other way draws up to twice its starting
 * current (common practice, no source). It weighs two starts during its window (never more than the whole
 * budget: then it waits until it has the supply to itself), and the next start waits two gaps.
 *
 * Axes that have to wait stand in line. The first in line starts as soon as its weight fits. One further back
 * that fits already may overtake, but nobody is overtaken more than TD_SUPPLY_OVERTAKEN_MAX times; then
 * everyone behind waits. So at most axes - 1 + TD_SUPPLY_OVERTAKEN_MAX starts come before that of a waiting
 * axis, and where no axis runs longer than R, it starts within (axes + TD_SUPPLY_OVERTAKEN_MAX) x
 * max(R, 2 gaps), as long as each start is made as soon as it is possible.
 *
 * What the caller does: td_supply_ask() once nothing else keeps the axis from starting, td_supply_answer()
 * until it says START, then td_supply_started(); td_supply_stopped() when it is cut or no longer wants to
 * start. Again no later than td_supply_deadline() and whenever an axis stops.
 *
 * Nothing here fails, whatever bytes stand in the state: a state that cannot be counts as starting.
 */
#ifndef TD_CORE_SUPPLY_H
#define TD_CORE_SUPPLY_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

enum { TD_SUPPLY_OVERTAKEN_MAX = 4 };

#define TD_SUPPLY_WEIGHT_MAX_MA 1000000
#define TD_SUPPLY_START_MAX_NS  TD_S(60)
#define TD_SUPPLY_GAP_MAX_NS    TD_S(60)

struct td_supply_axis_rules {
	uint32_t start_ma; /* run_ma ... budget_ma */
	uint32_t run_ma;   /* 0 ... budget_ma; both 0: neither waits nor makes others wait */
	td_ns start_ns;    /* start window: 0 ... TD_SUPPLY_START_MAX_NS */
};

/* All zero lets nothing start that has a weight. */
struct td_supply_rules {
	uint8_t axes;       /* 1 ... TD_AXES_MAX */
	uint32_t budget_ma; /* 1 ... TD_SUPPLY_WEIGHT_MAX_MA */
	td_ns gap_ns;       /* between two starts: 0 ... TD_SUPPLY_GAP_MAX_NS */
	struct td_supply_axis_rules axis[TD_AXES_MAX];
};

/* POWERED is 0: an axis nobody set counts. */
enum td_supply_state { TD_SUPPLY_POWERED = 0, TD_SUPPLY_OFF, TD_SUPPLY_IN_LINE };

struct td_supply_axis {
	uint8_t state;     /* enum td_supply_state */
	uint8_t reversal;  /* 0 or 1 */
	uint8_t overtaken; /* IN_LINE: how often */
	uint64_t ticket;   /* IN_LINE: who asked first has the lowest */
	td_ns since_ns;    /* POWERED since */
};

struct td_supply {
	uint64_t tickets;    /* given out so far */
	td_ns next_start_ns; /* no start before */
	struct td_supply_axis axis[TD_AXES_MAX];
};

/* What keeps a waiting axis; NOT_ASKED is 0. */
enum td_supply_answer {
	TD_SUPPLY_NOT_ASKED = 0, /* does not stand in line, or does not exist */
	TD_SUPPLY_START,
	TD_SUPPLY_WAIT_GAP,  /* another axis has just started */
	TD_SUPPLY_WAIT_LOAD, /* the running axes leave too little */
	TD_SUPPLY_WAIT_LINE, /* it would fit, but one that has waited longer starts first */
};

bool td_supply_rules_ok(const struct td_supply_rules *rules);

/* Everything off, nobody in line. */
void td_supply_init(struct td_supply *supply);

/* An axis that is off wants to start: it takes its place at the end of the line. `reversal`: it may still
 * turn the other way. One that stands in line keeps its place, and a reversal stays one; it may have become one,
 * because it wants the other way now. One that is powered stays so. */
void td_supply_ask(struct td_supply *supply, uint8_t axis, bool reversal);

enum td_supply_answer td_supply_answer(const struct td_supply *supply, const struct td_supply_rules *rules,
				       uint8_t axis, td_ns now_ns);

/* The axis is powered now, whether it was allowed to or not. */
void td_supply_started(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
		       td_ns now_ns);

/* The axis is off and wants nothing. */
void td_supply_stopped(struct td_supply *supply, uint8_t axis);

/* The weight of all powered axes. */
uint32_t td_supply_drawn_ma(const struct td_supply *supply, const struct td_supply_rules *rules,
			    td_ns now_ns);

/* When an answer can next become START by time alone; TD_NEVER where only a stop, or nobody, can make it. */
td_ns td_supply_deadline(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns);

#endif
