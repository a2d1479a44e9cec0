/* SPDX-License-Identifier: MIT */
#include "config/hash.h"

#include <string.h>

#include "config/value.h"

#define FNV_PRIME UINT64_C(0x100000001b3)

uint64_t td_hash_bytes(uint64_t hash, const void *bytes, size_t length)
{
	const unsigned char *byte = bytes;

	for (size_t i = 0; i < length; i++)
		hash = (hash ^ byte[i]) * FNV_PRIME;
	return hash;
}

/* With the terminator, so that no two lists of texts run into the same bytes. */
static uint64_t take_text(uint64_t hash, const char *text)
{
	return td_hash_bytes(hash, text, strlen(text) + 1);
}

static uint64_t take_section(uint64_t hash, const struct td_draft_section *section)
{
	char label[TD_LABEL_MAX];
	char normal[TD_VALUE_NORMAL_MAX];

	td_draft_label(section, label);
	for (unsigned int key = 0; key < TD_KEYS; key++) {
		const struct td_key_info *info = td_key_info((enum td_key)key);

		if (info->section != section->kind || !section->value[key].text)
			continue;
		td_value_normal(info, section->value[key].text, normal);
		hash = take_text(hash, label);
		hash = take_text(hash, info->name);
		hash = take_text(hash, normal);
	}
	return hash;
}

static uint64_t take_kind(uint64_t hash, struct td_draft *draft, enum td_section_kind kind)
{
	const struct td_draft_section *section = NULL;

	while ((section = td_draft_next(draft, kind, section)))
		hash = take_section(hash, section);
	return hash;
}

static uint64_t take_axes(uint64_t hash, struct td_draft *draft)
{
	const struct td_draft_section *axis = NULL;
	td_name ways[TD_WAYS];

	while ((axis = td_draft_next(draft, TD_SECTION_AXIS, axis)))
		if (td_draft_ways(axis, ways)) {
			hash = take_section(hash, axis);
			for (size_t way = 0; way < TD_WAYS; way++)
				hash = take_section(
					hash, td_draft_find(draft, TD_SECTION_WAY, axis->word[0], ways[way]));
		}
	return hash;
}

uint64_t td_hash_draft(struct td_draft *draft)
{
	uint64_t hash = TD_HASH_START;

	hash = take_kind(hash, draft, TD_SECTION_MACHINE);
	hash = take_kind(hash, draft, TD_SECTION_KEEPER);
	hash = take_kind(hash, draft, TD_SECTION_VISITOR);
	hash = take_kind(hash, draft, TD_SECTION_TURNS);
	hash = take_kind(hash, draft, TD_SECTION_TWIST);
	hash = take_kind(hash, draft, TD_SECTION_TRACE);
	hash = take_axes(hash, draft);
	return take_kind(hash, draft, TD_SECTION_SWITCH);
}
