/* SPDX-License-Identifier: MIT */
#include "core/cause.h"

#include <stddef.h>

static const struct td_cause_info list[] = {
#define TD_X(number, ident, name, kind, rule, sentence, remedy)                                              \
	{TD_CAUSE_##ident, TD_KIND_##kind, name, rule, sentence, remedy},
	TD_CAUSE_TABLE(TD_X)
#undef TD_X
};

enum { LIST_LENGTH = sizeof(list) / sizeof(list[0]) };

static const struct td_cause_info *find(int number)
{
	for (size_t i = 0; i < LIST_LENGTH; i++)
		if ((int)list[i].cause == number)
			return &list[i];
	return NULL;
}

const struct td_cause_info *td_cause_info(enum td_cause cause)
{
	const struct td_cause_info *info = find((int)cause);

	return info ? info : find(TD_CAUSE_INTERNAL);
}

enum td_cause_kind td_cause_kind(enum td_cause cause)
{
	return td_cause_info(cause)->kind;
}

bool td_cause_visitor_resets(enum td_cause cause)
{
	static const enum td_cause open[] = {
#define TD_X(ident) TD_CAUSE_##ident,
		TD_VISITOR_RESET_TABLE(TD_X)
#undef TD_X
	};

	for (size_t i = 0; i < sizeof(open) / sizeof(open[0]); i++)
		if (open[i] == cause)
			return true;
	return false;
}

bool td_cause_known(int number)
{
	return find(number) != NULL;
}

const struct td_cause_info *td_cause_at(unsigned int index)
{
	return index < LIST_LENGTH ? &list[index] : NULL;
}
