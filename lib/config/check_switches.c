/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "config/check.h"

/* A key that names a switch: end_switch of a way, or emergency_stop of the machine. */
struct use {
	const struct td_draft_section *section; /* NULL: no more */
	enum td_key key;
};

static const char *name_of(struct use use)
{
	return use.section->value[use.key].text;
}

static bool is_use(const struct td_draft_section *section, enum td_key *key)
{
	*key = section->kind == TD_SECTION_MACHINE ? TD_KEY_MACHINE_EMERGENCY_STOP : TD_KEY_WAY_END_SWITCH;
	return (section->kind == TD_SECTION_MACHINE || section->kind == TD_SECTION_WAY) &&
	       section->value[*key].good;
}

/* The next use in the order of the file, at or after the section numbered *at. */
static struct use next_use(const struct td_draft *draft, size_t *at)
{
	struct use use = {0};

	for (; *at < draft->sections && !use.section; (*at)++)
		if (is_use(&draft->section[*at], &use.key))
			use.section = &draft->section[*at];
	return use;
}

static void check_known(struct td_draft *draft, struct use use, struct td_report *report)
{
	char hint[TD_HINT_MAX];

	if (td_draft_find(draft, TD_SECTION_SWITCH, name_of(use), ""))
		return;
	td_check_hint(draft, TD_SECTION_SWITCH, name_of(use), "add its [switch NAME] section", hint);
	td_report_add(report, td_draft_line(use.section, use.key),
		      "%s names no switch of this file: '%s'; %s", td_key_info(use.key)->name, name_of(use),
		      hint);
}

static void check_first_use(struct td_draft *draft, struct use use, struct td_report *report)
{
	char label[TD_LABEL_MAX];
	struct use former;

	for (size_t at = 0; (former = next_use(draft, &at)).section && former.section != use.section;) {
		if (strcmp(name_of(former), name_of(use)) != 0)
			continue;
		td_draft_label(former.section, label);
		td_report_add(report, td_draft_line(use.section, use.key),
			      "switch '%s' already serves as %s of %s, line %d; allowed: one purpose for "
			      "each switch; "
			      "name another one",
			      name_of(use), td_key_info(former.key)->name, label,
			      td_draft_line(former.section, former.key));
		return;
	}
}

static bool is_used(const struct td_draft *draft, const char *name)
{
	struct use use;

	for (size_t at = 0; (use = next_use(draft, &at)).section;)
		if (strcmp(name_of(use), name) == 0)
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
				      "switch '%s' is used nowhere; name it in end_switch or emergency_stop, "
				      "or remove "
				      "the section",
				      section->word[0]);
	}
}
