/* SPDX-License-Identifier: MIT */
#include "core/breach.h"

static const struct td_breach_info list[TD_BREACHES] = {
#define TD_X(ident, rule, sentence) [TD_BREACH_##ident] = {(rule), sentence},
	TD_BREACH_TABLE(TD_X)
#undef TD_X
};

const struct td_breach_info *td_breach_info(enum td_breach breach)
{
	unsigned int index = (unsigned int)breach;

	return &list[index < TD_BREACHES ? index : TD_BREACH_NO_SUCH_OUTPUT];
}
