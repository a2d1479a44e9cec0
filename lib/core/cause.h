/* SPDX-License-Identifier: MIT */
/* Causes: the enum and the look-up of their words. The list itself is cause_table.h. */
#ifndef TD_CORE_CAUSE_H
#define TD_CORE_CAUSE_H

#include <stdbool.h>

#include "core/cause_table.h"

enum td_cause {
#define TD_X(number, ident, ...) TD_CAUSE_##ident = (number),
	TD_CAUSE_TABLE(TD_X)
#undef TD_X
};

enum td_cause_kind {
	TD_KIND_NONE = 0,
	TD_KIND_MOVE,
	TD_KIND_STOP,
	TD_KIND_REFUSAL,
	TD_KIND_TRIP,
	TD_KIND_MACHINE,
	TD_KIND_NOTE,
};

struct td_cause_info {
	enum td_cause cause;
	enum td_cause_kind kind;
	const char *name;     /* stable, lower case with hyphens; used on the socket and in traces */
	const char *rule;     /* "R4", or "" where no rule of the rule book applies */
	const char *sentence; /* for people, no full stop */
	const char *remedy;   /* what to do, no full stop */
};

/* The words of a cause. A number that is not in the list gets the entry of TD_CAUSE_INTERNAL; the
 * result is never NULL and lives for ever. */
const struct td_cause_info *td_cause_info(enum td_cause cause);

/* Shorthand for td_cause_info(cause)->kind. */
enum td_cause_kind td_cause_kind(enum td_cause cause);

/* R11: a visitor may reset this trip. False for whatever is no trip, or no cause at all. */
bool td_cause_visitor_resets(enum td_cause cause);

/* True where the number stands in the list. */
bool td_cause_known(int number);

/* The i-th entry in the order of the list, NULL past its end: for help texts, docs and tests. */
const struct td_cause_info *td_cause_at(unsigned int index);

#endif
