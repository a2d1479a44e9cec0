/* SPDX-License-Identifier: MIT */
/*
 * The table of keys as data: numbers for sections, keys and types, and look-up by name. Constant,
 * nothing here fails or blocks.
 */
#ifndef TD_CONFIG_KEYS_H
#define TD_CONFIG_KEYS_H

#include <stddef.h>
#include <stdint.h>

#include "config/key_table.h"

enum td_section_kind {
#define X(ident, word, names, shown, help) TD_SECTION_##ident,
	TD_SECTION_TABLE(X)
#undef X
		TD_SECTION_KINDS /* also: no such section */
};

enum td_key {
#define X(section, ident, name, type, unit, min, max, need, fallback, help) TD_KEY_##section##_##ident,
	TD_KEY_TABLE(X)
#undef X
		TD_KEYS /* also: no such key */
};

enum td_type {
#define X(ident, placeholder) TD_TYPE_##ident,
	TD_TYPE_TABLE(X)
#undef X
		TD_TYPES
};

enum td_need {
#define X(ident, sentence) TD_NEED_##ident,
	TD_NEED_TABLE(X)
#undef X
		TD_NEEDS
};

struct td_section_info {
	const char *word;  /* first word of the heading */
	size_t names;      /* how many names follow it, 0 ... 2 */
	const char *shown; /* the names as documentation shows them, with a blank before each */
	const char *help;  /* whole sentences */
};

struct td_key_info {
	const char *name;
	const char *unit;
	const char *fallback; /* the default as it would be written, or NULL */
	const char *help;     /* whole sentences */
	int64_t min;
	int64_t max;
	enum td_section_kind section;
	enum td_type type;
	enum td_need need;
};

/* Static data; `kind` and `key` are valid ones. */
const struct td_section_info *td_section_info(enum td_section_kind kind);
const struct td_key_info *td_key_info(enum td_key key);
const char *td_type_placeholder(enum td_type type);
const char *td_need_sentence(enum td_need need);

/* TD_SECTION_KINDS or TD_KEYS if there is none of that name. */
enum td_section_kind td_section_find(const char *word);
enum td_key td_key_find(enum td_section_kind kind, const char *name);

/* Writes what is allowed for a key, e.g. "5 to 10000 ms", for messages and documentation. */
void td_key_allowed(const struct td_key_info *info, char *out, size_t size);

#endif
