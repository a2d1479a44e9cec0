/* SPDX-License-Identifier: MIT */
#include "config/check.h"

/* What the rest of the file makes of a key. */
enum call { MAY, MUST, MUST_NOT };

static enum call when(bool condition, enum call then, enum call otherwise)
{
	return condition ? then : otherwise;
}

static enum call call_of_backend(struct td_draft *draft, enum call on_bench, enum call on_gpio)
{
	const struct td_draft_section *machine = td_draft_next(draft, TD_SECTION_MACHINE, NULL);
	const struct td_draft_value *backend = &machine->value[TD_KEY_MACHINE_BACKEND];

	return backend->good ? when(backend->number == TD_BACKEND_BENCH, on_bench, on_gpio) : MAY;
}

static enum call call_of_other_end(struct td_draft *draft, const struct td_draft_section *section)
{
	const struct td_draft_section *other = td_draft_other_way(draft, section);

	return other ? when(td_draft_given(other, TD_KEY_WAY_END_SWITCH), MAY, MUST_NOT) : MAY;
}

static enum call call_of_duty(const struct td_draft_section *section, enum td_duty_type type, enum call then)
{
	const struct td_draft_value *duty = &section->value[TD_KEY_AXIS_DUTY];

	return duty->good ? when(duty->number == (int64_t)type, then, MUST_NOT) : MAY;
}

static enum call call_of_rated(const struct td_draft_section *section)
{
	const struct td_draft_value *duty = &section->value[TD_KEY_AXIS_DUTY];

	return duty->good ? when(duty->number == TD_DUTY_S1, MUST_NOT, MAY) : MAY;
}

/* `wanted` none: any source but none. */
static enum call call_of_source(const struct td_draft_section *section, enum td_twist_source wanted,
				enum call then)
{
	const struct td_draft_value *source = &section->value[TD_KEY_TWIST_SOURCE];

	if (!source->good)
		return MAY;
	if (wanted == TD_TWIST_UNLIMITED)
		return when(source->number != TD_TWIST_UNLIMITED, then, MUST_NOT);
	return when(source->number == (int64_t)wanted, then, MUST_NOT);
}

static enum call call_for(struct td_draft *draft, const struct td_draft_section *section, enum td_need need)
{
	bool has_end = td_draft_given(section, TD_KEY_WAY_END_SWITCH);

	switch (need) {
	case TD_NEED_REQUIRED: return MUST;
	case TD_NEED_BENCH: return call_of_backend(draft, MUST, MUST_NOT);
	case TD_NEED_GPIO: return call_of_backend(draft, MUST_NOT, MAY);
	case TD_NEED_TRAVEL: return when(has_end, MUST, MUST_NOT);
	case TD_NEED_END: return when(has_end, MAY, MUST_NOT);
	case TD_NEED_HOLD: return when(has_end, MUST_NOT, MUST);
	case TD_NEED_SHORT_TIME: return call_of_duty(section, TD_DUTY_S2, MUST);
	case TD_NEED_INTERMITTENT: return call_of_duty(section, TD_DUTY_S3, MUST);
	case TD_NEED_INTERMITTENT_MAY: return call_of_duty(section, TD_DUTY_S3, MAY);
	case TD_NEED_RATED: return call_of_rated(section);
	case TD_NEED_CABLE: return call_of_source(section, TD_TWIST_UNLIMITED, MUST);
	case TD_NEED_ESTIMATE: return call_of_source(section, TD_TWIST_ESTIMATE, MAY);
	case TD_NEED_SENSOR: return call_of_source(section, TD_TWIST_SENSOR, MUST);
	case TD_NEED_OTHER_END: return call_of_other_end(draft, section);
	case TD_NEED_OPTIONAL:
	case TD_NEEDS: break;
	}
	return MAY;
}

static const char *why(enum td_need need)
{
	return need == TD_NEED_REQUIRED ? "" : td_need_sentence(need);
}

static void report_missing(const struct td_draft_section *section, const struct td_key_info *info,
			   struct td_report *report)
{
	char label[TD_LABEL_MAX];
	char allowed[160];

	td_draft_label(section, label);
	td_key_allowed(info, allowed, sizeof(allowed));
	td_report_add(report, section->line, "%s lacks '%s'%s%s; allowed: %s; add it below the heading",
		      label, info->name, info->need == TD_NEED_REQUIRED ? "" : ", which is ", why(info->need),
		      allowed);
}

static void check_key(struct td_draft *draft, struct td_draft_section *section, enum td_key key,
		      struct td_report *report)
{
	const struct td_key_info *info = td_key_info(key);
	enum call call = call_for(draft, section, info->need);
	bool given = td_draft_given(section, key);

	if (call == MUST && !given)
		report_missing(section, info, report);
	else if (call == MUST_NOT && given)
		td_report_add(report, section->value[key].line,
			      "'%s' has no effect here: it is %s; remove it", info->name, why(info->need));
	else if (call == MUST_NOT)
		section->value[key].text = NULL;
}

void td_check_needs(struct td_draft *draft, struct td_report *report)
{
	for (size_t i = 0; i < draft->sections; i++)
		for (unsigned int key = 0; key < TD_KEYS; key++)
			if (td_key_info((enum td_key)key)->section == draft->section[i].kind)
				check_key(draft, &draft->section[i], (enum td_key)key, report);
}
