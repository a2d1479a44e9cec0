/* SPDX-License-Identifier: MIT */
#include "config/check.h"

#include <stdio.h>

#include "config/nearest.h"

void td_check_draft(struct td_draft *draft, struct td_report *report)
{
	td_check_values(draft, report);
	td_check_needs(draft, report);
	td_check_axes(draft, report);
	td_check_switches(draft, report);
	td_check_bars(draft, report);
	td_check_places(draft, report);
	td_check_load(draft, report);
	td_check_cable(draft, report);
}

void td_check_hint(struct td_draft *draft, enum td_section_kind kind, const char *misspelt,
		   const char *otherwise, char out[TD_HINT_MAX])
{
	struct td_nearest nearest = td_nearest_to(misspelt);
	const struct td_draft_section *section = NULL;

	while ((section = td_draft_next(draft, kind, section)))
		td_nearest_offer(&nearest, section->word[0]);
	if (nearest.best)
		snprintf(out, TD_HINT_MAX, "did you mean '%s'?", nearest.best);
	else
		snprintf(out, TD_HINT_MAX, "%s", otherwise);
}

void td_check_way_hint(td_name ways[TD_WAYS], const char *misspelt, char out[TD_HINT_MAX])
{
	struct td_nearest nearest = td_nearest_to(misspelt);

	for (size_t way = 0; way < TD_WAYS; way++)
		td_nearest_offer(&nearest, ways[way]);
	if (nearest.best)
		snprintf(out, TD_HINT_MAX, "did you mean '%s'?", nearest.best);
	else
		snprintf(out, TD_HINT_MAX, "its ways are '%s' and '%s'", ways[0], ways[1]);
}
