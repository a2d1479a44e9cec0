/* SPDX-License-Identifier: MIT */
#include "config/keys.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static const struct td_section_info sections[TD_SECTION_KINDS] = {
#define X(ident, word, names, shown, help) {word, names, shown, help},
	TD_SECTION_TABLE(X)
#undef X
};

static const struct td_key_info keys[TD_KEYS] = {
#define X(section, ident, name, type, unit, min, max, need, fallback, help)                                  \
	{name, unit, fallback, help, min, max, TD_SECTION_##section, TD_TYPE_##type, TD_NEED_##need},
	TD_KEY_TABLE(X)
#undef X
};

static const char *const placeholders[TD_TYPES] = {
#define X(ident, placeholder) placeholder,
	TD_TYPE_TABLE(X)
#undef X
};

static const char *const needs[TD_NEEDS] = {
#define X(ident, sentence) sentence,
	TD_NEED_TABLE(X)
#undef X
};

const struct td_section_info *td_section_info(enum td_section_kind kind)
{
	return &sections[kind];
}

const struct td_key_info *td_key_info(enum td_key key)
{
	return &keys[key];
}

const char *td_type_placeholder(enum td_type type)
{
	return placeholders[type];
}

const char *td_need_sentence(enum td_need need)
{
	return needs[need];
}

enum td_section_kind td_section_find(const char *word)
{
	unsigned int kind = 0;

	while (kind < TD_SECTION_KINDS && strcmp(sections[kind].word, word) != 0)
		kind++;
	return (enum td_section_kind)kind;
}

enum td_key td_key_find(enum td_section_kind kind, const char *name)
{
	unsigned int key = 0;

	while (key < TD_KEYS && (keys[key].section != kind || strcmp(keys[key].name, name) != 0))
		key++;
	return (enum td_key)key;
}

/* "gpio|bench" reads "gpio or bench". */
static void allowed_choice(const char *choices, char *out, size_t size)
{
	const char *bar = strchr(choices, '|');

	snprintf(out, size, "%.*s or %s", (int)(bar - choices), choices, bar + 1);
}

void td_key_allowed(const struct td_key_info *info, char *out, size_t size)
{
	switch (info->type) {
	case TD_TYPE_TEXT:
	case TD_TYPE_PATH:
	case TD_TYPE_NUMBER:
		snprintf(out, size, "%" PRId64 " to %" PRId64 " %s", info->min, info->max, info->unit);
		break;
	case TD_TYPE_NAME:
	case TD_TYPE_GROUP:
		snprintf(out, size, "%" PRId64 " to %" PRId64 " of a-z, 0-9, '_' and '-', a letter first",
			 info->min, info->max);
		break;
	case TD_TYPE_PLACE:
		snprintf(out, size,
			 "LABEL:OFFSET (chip label, offset %" PRId64 " to %" PRId64
			 ") or a unique line name; label and name at most %d bytes",
			 info->min, info->max, TD_PLACE_PART_MAX);
		break;
	case TD_TYPE_MODE:
		snprintf(out, size, "%04" PRIo64 " to %04" PRIo64 " %s", (uint64_t)info->min,
			 (uint64_t)info->max, info->unit);
		break;
	case TD_TYPE_CHOICE: allowed_choice(info->unit, out, size); break;
	case TD_TYPE_PAIR: snprintf(out, size, "two names, separated by a blank"); break;
	case TD_TYPE_WAYS: snprintf(out, size, "two different names, separated by a blank"); break;
	case TD_TYPE_QUIET:
		snprintf(out, size,
			 "%" PRId64 " to %" PRId64
			 " spans as in 22:00-06:30 or fri-sat 23:00-08:00, separated by commas",
			 info->min, info->max);
		break;
	case TD_TYPE_BARS:
	case TD_TYPES:
		snprintf(out, size,
			 "%" PRId64 " to %" PRId64
			 " of 'moving AXIS', 'at-end AXIS WAY', 'off-end AXIS WAY', separated by commas",
			 info->min, info->max);
		break;
	}
}
