/* SPDX-License-Identifier: MIT */
/* Breaches of the rule book: the enum and the look-up of its words. The list itself is breach_table.h. */
#ifndef TD_CORE_BREACH_H
#define TD_CORE_BREACH_H

#include <stdint.h>

#include "core/breach_table.h"

enum td_breach {
#define TD_X(ident, rule, sentence) TD_BREACH_##ident,
	TD_BREACH_TABLE(TD_X)
#undef TD_X
		TD_BREACHES
};

struct td_breach_info {
	uint8_t rule;         /* 1 ... 19 for R1 ... R19; 0 for TD_BREACH_NONE */
	const char *sentence; /* for people, no full stop */
};

/* The words of a breach. A number that is not in the list gets those of TD_BREACH_NO_SUCH_OUTPUT: something
 * is wrong. Never NULL; lives for ever. */
const struct td_breach_info *td_breach_info(enum td_breach breach);

#endif
