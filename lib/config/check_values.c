/* SPDX-License-Identifier: MIT */
#include <assert.h>

#include "config/check.h"
#include "config/value.h"

enum { ALLOWED_MAX = 160 };

static const struct td_value_fault *check_any(const char *text)
{
	static const struct td_value_fault empty = {"is empty", "give a value, or leave the key out"};
	static const struct td_value_fault quoted = {"begins with a quotation mark",
						     "write the value without quotation marks"};

	if (text[0] == '\0')
		return &empty;
	return text[0] == '"' || text[0] == '\'' ? &quoted : NULL;
}

static void check_given(const struct td_key_info *info, struct td_draft_value *value,
			struct td_report *report)
{
	char allowed[ALLOWED_MAX];
	const struct td_value_fault *fault = check_any(value->text);

	if (!fault)
		fault = td_value_check(info, value->text, &value->number);
	value->good = fault == NULL;
	if (value->good)
		return;
	td_key_allowed(info, allowed, sizeof(allowed));
	td_report_add(report, value->line, "%s = %s %s; allowed: %s; %s", info->name, value->text,
		      fault->what, allowed, fault->mend);
}

static void take_default(const struct td_key_info *info, struct td_draft_value *value)
{
	const struct td_value_fault *fault = td_value_check(info, info->fallback, &value->number);

	assert(!fault);
	(void)fault;
	value->text = info->fallback;
	value->good = true;
}

static void check_section(struct td_draft_section *section, struct td_report *report)
{
	for (unsigned int key = 0; key < TD_KEYS; key++) {
		const struct td_key_info *info = td_key_info((enum td_key)key);

		if (info->section != section->kind)
			continue;
		if (td_draft_given(section, (enum td_key)key))
			check_given(info, &section->value[key], report);
		else if (info->fallback)
			take_default(info, &section->value[key]);
	}
}

void td_check_values(struct td_draft *draft, struct td_report *report)
{
	for (size_t i = 0; i < draft->sections; i++)
		check_section(&draft->section[i], report);
}
