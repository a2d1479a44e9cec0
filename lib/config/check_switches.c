/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "config/check.h"
#include "config/value.h"

/* A key that names a switch: end_switch of a way, emergency_stop of the machine, each of the two contacts of the
 * cable. */
struct use {
	const struct td_draft_section *section; /* NULL: no more */
	enum td_key key;
	size_t at; /* counts the uses a file can have */
	td_name name;
};

enum { USES = 2 }; /* of one section, at most */

static struct use plain_use(const struct td_draft_section *section, enum td_key key)
{
	struct use use = {.key = key};

	if (section->value[key].good) {
		use.section = section;
		snprintf(use.name, sizeof(use.name), "%s", section->value[key].text);
	}
	return use;
}

static struct use contact_use(const struct td_draft_section *twist, size_t nth)
{
	struct use use = {.key = TD_KEY_TWIST_CONTACTS};
	td_name names[USES];

	if (twist->value[TD_KEY_TWIST_CONTACTS].good) {
		td_value_pair(twist->value[TD_KEY_TWIST_CONTACTS].text, names);
		use.section = twist;
		memcpy(use.name, names[nth], sizeof(use.name));
	}
	return use;
}

static struct use use_of(const struct td_draft_section *section, size_t nth)
{
	if (section->kind == TD_SECTION_TWIST)
		return contact_use(section, nth);
	if (section->kind == TD_SECTION_MACHINE && nth == 0)
		return plain_use(section, TD_KEY_MACHINE_EMERGENCY_STOP);
	if (section->kind == TD_SECTION_WAY && nth == 0)
		return plain_use(section, TD_KEY_WAY_END_SWITCH);
	return (struct use){0};
}

/* The next use in the order of the file, at or after the one numbered *at. */
static struct use next_use(const struct td_draft *draft, size_t *at)
{
	struct use use = {0};

	for (; *at < draft->sections * USES && !use.section; (*at)++) {
		use = use_of(&draft->section[*at / USES], *at % USES);
		use.at = *at;
	}
	return use;
}

static void check_known(struct td_draft *draft, struct use use, struct td_report *report)
{
	char hint[TD_HINT_MAX];

	if (td_draft_find(draft, TD_SECTION_SWITCH, use.name, ""))
		return;
	td_check_hint(draft, TD_SECTION_SWITCH, use.name, "add its [switch NAME] section", hint);
	td_report_add(report, td_draft_line(use.section, use.key),
		      "%s names no switch of this file: '%s'; %s", td_key_info(use.key)->name, use.name,
		      hint);
}

static void check_first_use(struct td_draft *draft, struct use use, struct td_report *report)
{
	char label[TD_LABEL_MAX];
	struct use former;

	for (size_t at = 0; (former = next_use(draft, &at)).at != use.at;) {
		if (strcmp(former.name, use.name) != 0)
			continue;
		td_draft_label(former.section, label);
		td_report_add(report, td_draft_line(use.section, use.key),
			      "switch '%s' already serves as %s of %s, line %d; allowed: one purpose for "
			      "each switch; "
			      "name another one",
			      use.name, td_key_info(former.key)->name, label,
			      td_draft_line(former.section, former.key));
		return;
	}
}

static bool is_used(const struct td_draft *draft, const char *name)
{
	struct use use;

	for (size_t at = 0; (use = next_use(draft, &at)).section;)
		if (strcmp(use.name, name) == 0)
			return true;
	return false;
}

/* So few that one operation of a sound contact and its return may be taken for chatter. */
static void check_chatter(const struct td_draft_section *section, struct td_report *report)
{
	const struct td_draft_value *value = &section->value[TD_KEY_SWITCH_CHATTER_CHANGES];

	if (value->good && value->number > 0 && value->number < TD_CHATTER_CHANGES_MIN)
		td_report_add(
			report, value->line,
			"chatter_changes = %s is too few to tell chatter from bounce; allowed: 0, or %d to "
			"%d; choose a number in that range",
			value->text, TD_CHATTER_CHANGES_MIN, TD_CHATTER_CHANGES_MAX);
}

void td_check_switches(struct td_draft *draft, struct td_report *report)
{
	const struct td_draft_section *section = NULL;
	struct use use;

	for (size_t at = 0; (use = next_use(draft, &at)).section;) {
		check_known(draft, use, report);
		check_first_use(draft, use, report);
	}
	while ((section = td_draft_next(draft, TD_SECTION_SWITCH, section))) {
		check_chatter(section, report);
		if (!is_used(draft, section->word[0]))
			td_report_add(report, section->line,
				      "switch '%s' is used nowhere; name it in end_switch, emergency_stop or "
				      "contacts, or remove the section",
				      section->word[0]);
	}
}
