/* SPDX-License-Identifier: MIT */
#include "config/draft.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#include "config/value.h"

struct td_draft_section *td_draft_add(struct td_draft *draft, enum td_section_kind kind, int line,
				      const char *word0, const char *word1)
{
	struct td_draft_section *section = &draft->section[draft->sections];

	assert(draft->sections < sizeof(draft->section) / sizeof(draft->section[0]));
	draft->sections++;
	memset(section, 0, sizeof(*section));
	section->kind = kind;
	section->line = line;
	snprintf(section->word[0], sizeof(td_name), "%.*s", TD_NAME_MAX - 1, word0);
	snprintf(section->word[1], sizeof(td_name), "%.*s", TD_NAME_MAX - 1, word1);
	return section;
}

void td_draft_set(struct td_draft *draft, struct td_draft_section *section, enum td_key key, int line,
		  const char *text)
{
	size_t size = strlen(text) + 1;

	assert(draft->pool_used + size <= sizeof(draft->pool));
	memcpy(draft->pool + draft->pool_used, text, size);
	section->value[key].text = draft->pool + draft->pool_used;
	section->value[key].line = line;
	draft->pool_used += size;
}

struct td_draft_section *td_draft_find(struct td_draft *draft, enum td_section_kind kind, const char *word0,
				       const char *word1)
{
	struct td_draft_section *section = NULL;

	while ((section = td_draft_next(draft, kind, section)))
		if (strcmp(section->word[0], word0) == 0 && strcmp(section->word[1], word1) == 0)
			return section;
	return NULL;
}

struct td_draft_section *td_draft_next(struct td_draft *draft, enum td_section_kind kind,
				       const struct td_draft_section *after)
{
	for (size_t i = after ? (size_t)(after - draft->section) + 1 : 0; i < draft->sections; i++)
		if (draft->section[i].kind == kind)
			return &draft->section[i];
	return NULL;
}

size_t td_draft_index(struct td_draft *draft, const struct td_draft_section *section)
{
	const struct td_draft_section *other = NULL;
	size_t index = 0;

	while ((other = td_draft_next(draft, section->kind, other)) && other != section)
		index++;
	return index;
}

bool td_draft_ways(const struct td_draft_section *axis, td_name ways[TD_WAYS])
{
	const struct td_draft_value *value = &axis->value[TD_KEY_AXIS_WAYS];

	if (!value->good)
		return false;
	td_value_pair(value->text, ways);
	return true;
}

uint8_t td_draft_way_index(struct td_draft *draft, const struct td_draft_section *way)
{
	const struct td_draft_section *axis = td_draft_find(draft, TD_SECTION_AXIS, way->word[0], "");
	td_name ways[TD_WAYS];

	if (axis && td_draft_ways(axis, ways))
		for (unsigned int i = 0; i < TD_WAYS; i++)
			if (strcmp(ways[i], way->word[1]) == 0)
				return (uint8_t)i;
	return TD_NO_WAY;
}

struct td_draft_section *td_draft_other_way(struct td_draft *draft, const struct td_draft_section *way)
{
	const struct td_draft_section *axis = td_draft_find(draft, TD_SECTION_AXIS, way->word[0], "");
	uint8_t index = td_draft_way_index(draft, way);
	td_name ways[TD_WAYS];

	if (index == TD_NO_WAY || !td_draft_ways(axis, ways))
		return NULL;
	return td_draft_find(draft, TD_SECTION_WAY, way->word[0], ways[1 - index]);
}

bool td_draft_given(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].line != 0;
}

int td_draft_line(const struct td_draft_section *section, enum td_key key)
{
	return td_draft_given(section, key) ? section->value[key].line : section->line;
}

void td_draft_label(const struct td_draft_section *section, char out[TD_LABEL_MAX])
{
	snprintf(out, TD_LABEL_MAX, "[%s%s%s%s%s]", td_section_info(section->kind)->word,
		 section->word[0][0] ? " " : "", section->word[0], section->word[1][0] ? " " : "",
		 section->word[1]);
}
