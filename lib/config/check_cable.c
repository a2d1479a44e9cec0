/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <string.h>

#include "config/cable.h"
#include "config/check.h"
#include "config/value.h"

static bool good(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].good;
}

/* A pair that names an axis and a way of it. */
static void check_way(struct td_draft *draft, const struct td_draft_section *twist, enum td_key key,
		      struct td_report *report)
{
	const char *label = td_key_info(key)->name;
	int line = td_draft_line(twist, key);
	td_name names[TD_WAYS];
	td_name ways[TD_WAYS];
	char hint[TD_HINT_MAX];

	td_value_pair(twist->value[key].text, names);
	const struct td_draft_section *axis = td_draft_find(draft, TD_SECTION_AXIS, names[0], "");

	if (!axis) {
		td_check_hint(draft, TD_SECTION_AXIS, names[0], "name one of the [axis NAME] sections", hint);
		td_report_add(report, line, "%s names no axis of this file: '%s'; %s", label, names[0], hint);
	} else if (td_draft_ways(axis, ways) && strcmp(ways[0], names[1]) != 0 &&
		   strcmp(ways[1], names[1]) != 0) {
		td_check_way_hint(ways, names[1], hint);
		td_report_add(report, line, "%s names no way of axis '%s': '%s'; %s", label, names[0],
			      names[1], hint);
	}
}

static void check_two_axes(const struct td_draft_section *twist, struct td_report *report)
{
	td_name ahead[TD_WAYS];
	td_name left[TD_WAYS];

	td_value_pair(twist->value[TD_KEY_TWIST_AHEAD].text, ahead);
	td_value_pair(twist->value[TD_KEY_TWIST_LEFT].text, left);
	if (strcmp(ahead[0], left[0]) == 0)
		td_report_add(
			report, td_draft_line(twist, TD_KEY_TWIST_LEFT),
			"left names the axis of 'ahead', '%s'; allowed: another axis; name the one that "
			"steers",
			left[0]);
}

/* Of the two quadrature signals none may be filtered for longer than a step lasts, or steps come in the wrong order. */
static void check_fast(const struct td_draft_section *twist, const struct td_draft_section *sw,
		       enum td_key filter, struct td_report *report)
{
	td_ns step_ns = td_cable_step_ns(twist);

	if (!good(sw, filter) || step_ns == 0 || TD_MS(sw->value[filter].number) < step_ns)
		return;
	td_report_add(report, td_draft_line(sw, filter),
		      "switch '%s': %s = %" PRId64 " is too slow for the swivel, whose steps last %" PRId64
		      " ms in the smaller circle; choose less",
		      sw->word[0], td_key_info(filter)->name, sw->value[filter].number,
		      (int64_t)(step_ns / TD_MS(1)));
}

static void check_contacts(struct td_draft *draft, const struct td_draft_section *twist,
			   struct td_report *report)
{
	td_name names[TD_WAYS];

	td_value_pair(twist->value[TD_KEY_TWIST_CONTACTS].text, names);
	for (size_t i = 0; i < 2; i++) {
		const struct td_draft_section *sw = td_draft_find(draft, TD_SECTION_SWITCH, names[i], "");

		if (!sw)
			continue; /* td_check_switches() has said so */
		check_fast(twist, sw, TD_KEY_SWITCH_CONFIRM_MS, report);
		check_fast(twist, sw, TD_KEY_SWITCH_CLEAR_MS, report);
	}
}

void td_check_cable(struct td_draft *draft, struct td_report *report)
{
	const struct td_draft_section *twist = td_draft_next(draft, TD_SECTION_TWIST, NULL);
	bool ahead = good(twist, TD_KEY_TWIST_AHEAD);
	bool left = good(twist, TD_KEY_TWIST_LEFT);

	if (ahead)
		check_way(draft, twist, TD_KEY_TWIST_AHEAD, report);
	if (left)
		check_way(draft, twist, TD_KEY_TWIST_LEFT, report);
	if (ahead && left)
		check_two_axes(twist, report);
	if (good(twist, TD_KEY_TWIST_CONTACTS))
		check_contacts(draft, twist, report);
}
