/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "config/bar_list.h"
#include "config/check.h"

/* One condition of one way. */
struct bar {
	const struct td_draft_section *way;
	const struct td_bar_item *item;
	char shown[TD_BAR_SHOWN_MAX];
	int line;
};

static void check_end(struct td_draft *draft, const struct bar *bar, const struct td_draft_section *axis,
		      struct td_report *report)
{
	const struct td_draft_section *way =
		td_draft_find(draft, TD_SECTION_WAY, bar->item->axis, bar->item->way);
	td_name ways[TD_WAYS];

	if (!td_draft_ways(axis, ways))
		return;
	if (strcmp(ways[0], bar->item->way) != 0 && strcmp(ways[1], bar->item->way) != 0) {
		char hint[TD_HINT_MAX];

		td_check_way_hint(ways, bar->item->way, hint);
		td_report_add(report, bar->line, "bars: '%s' names no way of axis '%s'; %s", bar->shown,
			      bar->item->axis, hint);
	} else if (way && !td_draft_given(way, TD_KEY_WAY_END_SWITCH)) {
		td_report_add(
			report, bar->line,
			"bars: '%s' names an end without a switch; give [way %s %s] an end_switch, or bar "
			"'moving %s'",
			bar->shown, bar->item->axis, bar->item->way, bar->item->axis);
	}
}

static void check_bar(struct td_draft *draft, const struct bar *bar, struct td_report *report)
{
	const struct td_draft_section *axis = td_draft_find(draft, TD_SECTION_AXIS, bar->item->axis, "");

	if (strcmp(bar->item->axis, bar->way->word[0]) == 0) {
		td_report_add(report, bar->line,
			      "bars: '%s' names the axis of this way; allowed: other axes; remove it",
			      bar->shown);
	} else if (!axis) {
		char hint[TD_HINT_MAX];

		td_check_hint(draft, TD_SECTION_AXIS, bar->item->axis, "name one of the [axis NAME] sections",
			      hint);
		td_report_add(report, bar->line, "bars: '%s' names no axis of this file; %s", bar->shown,
			      hint);
	} else if (bar->item->kind != TD_BAR_MOVING) {
		check_end(draft, bar, axis, report);
	}
}

/* Two conditions about the same axis of which one is always met, so that the way would never run. */
static bool exclude(const struct td_bar_item *a, const struct td_bar_item *b)
{
	bool same_way = strcmp(a->way, b->way) == 0;

	if (strcmp(a->axis, b->axis) != 0 || a->kind == TD_BAR_MOVING || b->kind == TD_BAR_MOVING)
		return false;
	return a->kind == b->kind ? a->kind == TD_BAR_OFF_END && !same_way : same_way;
}

static void check_pair(const struct bar *bar, const struct td_bar_item *former, struct td_report *report)
{
	char shown[TD_BAR_SHOWN_MAX];

	td_bar_item_show(former, shown);
	if (strcmp(shown, bar->shown) == 0)
		td_report_add(report, bar->line, "bars: '%s' stands twice; remove one", shown);
	else if (exclude(former, bar->item))
		td_report_add(
			report, bar->line,
			"bars: one of '%s' and '%s' always holds, so this way would never move; remove one",
			shown, bar->shown);
}

static void check_way(struct td_draft *draft, const struct td_draft_section *way, struct td_report *report)
{
	struct td_bar_list list;

	if (!way->value[TD_KEY_WAY_BARS].good)
		return;
	td_bar_list_parse(way->value[TD_KEY_WAY_BARS].text, &list);
	for (size_t i = 0; i < list.count; i++) {
		struct bar bar = {
			.way = way, .item = &list.item[i], .line = way->value[TD_KEY_WAY_BARS].line};

		td_bar_item_show(bar.item, bar.shown);
		check_bar(draft, &bar, report);
		for (size_t former = 0; former < i; former++)
			check_pair(&bar, &list.item[former], report);
	}
}

void td_check_bars(struct td_draft *draft, struct td_report *report)
{
	const struct td_draft_section *way = NULL;

	while ((way = td_draft_next(draft, TD_SECTION_WAY, way)))
		check_way(draft, way, report);
}
