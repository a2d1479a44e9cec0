/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "config/check.h"

/* Reports the first section past `max`, at its heading. */
static void check_count(struct td_draft *draft, enum td_section_kind kind, size_t max,
			struct td_report *report)
{
	const struct td_draft_section *section = NULL;
	size_t count = 0;

	while ((section = td_draft_next(draft, kind, section)))
		if (++count == max + 1)
			td_report_add(report, section->line,
				      "too many [%s NAME] sections; allowed: at most %zu; "
				      "leave some out",
				      td_section_info(kind)->word, max);
}

static void check_ways_there(struct td_draft *draft, const struct td_draft_section *axis,
			     struct td_report *report)
{
	td_name ways[TD_WAYS];

	if (!td_draft_ways(axis, ways))
		return;
	for (size_t way = 0; way < TD_WAYS; way++)
		if (!td_draft_find(draft, TD_SECTION_WAY, axis->word[0], ways[way]))
			td_report_add(report, axis->line,
				      "axis '%s' lacks the section of its way '%s'; add [way %s %s]",
				      axis->word[0], ways[way], axis->word[0], ways[way]);
}

static bool has_end_switch(struct td_draft *draft, const struct td_draft_section *axis)
{
	const struct td_draft_section *way = NULL;

	while ((way = td_draft_next(draft, TD_SECTION_WAY, way)))
		if (strcmp(way->word[0], axis->word[0]) == 0 && td_draft_given(way, TD_KEY_WAY_END_SWITCH))
			return true;
	return false;
}

static void check_restored(struct td_draft *draft, const struct td_draft_section *axis,
			   struct td_report *report)
{
	if (axis->value[TD_KEY_AXIS_RESTORED_MS].number > 0 && has_end_switch(draft, axis))
		td_report_add(
			report, td_draft_line(axis, TD_KEY_AXIS_RESTORED_MS),
			"restored_ms is above 0, but axis '%s' has an end switch; allowed: 0; remove the key",
			axis->word[0]);
}

static void check_way_belongs(struct td_draft *draft, const struct td_draft_section *way,
			      struct td_report *report)
{
	const struct td_draft_section *axis = td_draft_find(draft, TD_SECTION_AXIS, way->word[0], "");
	char hint[TD_HINT_MAX];
	td_name ways[TD_WAYS];

	if (!axis) {
		td_check_hint(draft, TD_SECTION_AXIS, way->word[0], "add its [axis NAME] section", hint);
		td_report_add(report, way->line, "[way %s %s] belongs to no axis of this file; %s",
			      way->word[0], way->word[1], hint);
	} else if (td_draft_ways(axis, ways) && td_draft_way_index(draft, way) == TD_NO_WAY) {
		td_check_way_hint(ways, way->word[1], hint);
		td_report_add(report, way->line, "axis '%s' has no way '%s'; %s", way->word[0], way->word[1],
			      hint);
	}
}

void td_check_axes(struct td_draft *draft, struct td_report *report)
{
	const struct td_draft_section *section = NULL;

	if (!td_draft_next(draft, TD_SECTION_AXIS, NULL))
		td_report_add(report, 1,
			      "the file has no [axis NAME] section; allowed: 1 to %d; add one for each motor",
			      TD_AXES_MAX);
	check_count(draft, TD_SECTION_AXIS, TD_AXES_MAX, report);
	check_count(draft, TD_SECTION_SWITCH, TD_SWITCHES_MAX, report);
	while ((section = td_draft_next(draft, TD_SECTION_AXIS, section))) {
		check_ways_there(draft, section, report);
		check_restored(draft, section, report);
	}
	while ((section = td_draft_next(draft, TD_SECTION_WAY, section)))
		check_way_belongs(draft, section, report);
}
