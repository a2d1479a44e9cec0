/* SPDX-License-Identifier: MIT */
/*
 * A file as it was written: its sections and the text of their values, before anything is checked
 * against anything else. Sections stand in the order of the file.
 */
#ifndef TD_CONFIG_DRAFT_H
#define TD_CONFIG_DRAFT_H

#include <stdbool.h>
#include <stddef.h>

#include "config/keys.h"

struct td_draft_value {
	const char *text; /* as written, else the default where one applies, else NULL */
	int line;         /* 0 = not in the file */
	bool good;        /* has passed the check of its type; `number` is valid */
	int64_t number;
};

struct td_draft_section {
	enum td_section_kind kind;
	int line;                             /* of its heading; 1 if the file has none */
	td_name word[2];                      /* the names in the heading, "" where there are fewer */
	struct td_draft_value value[TD_KEYS]; /* only those of `kind` are used */
};

struct td_draft {
	size_t sections;
	struct td_draft_section
		section[TD_SECTIONS_MAX + TD_SECTION_KINDS]; /* room for those a file leaves out */
	size_t pool_used;
	char pool[TD_CONFIG_FILE_MAX + 1]; /* the texts; each is shorter than its line was */
};

/* Adds a section while there is room. The words are well-formed names or "". */
struct td_draft_section *td_draft_add(struct td_draft *draft, enum td_section_kind kind, int line,
				      const char *word0, const char *word1);

/* Notes a value that stands in the file. */
void td_draft_set(struct td_draft *draft, struct td_draft_section *section, enum td_key key, int line,
		  const char *text);

/* The section with this heading, or NULL. */
struct td_draft_section *td_draft_find(struct td_draft *draft, enum td_section_kind kind, const char *word0,
				       const char *word1);

/* The next section of a kind after `after` (NULL: the first one), or NULL. */
struct td_draft_section *td_draft_next(struct td_draft *draft, enum td_section_kind kind,
				       const struct td_draft_section *after);

/* How many sections of its kind stand before it: the index of an axis or switch. */
size_t td_draft_index(struct td_draft *draft, const struct td_draft_section *section);

/* The names of an axis' ways; false if they are missing or faulty. */
bool td_draft_ways(const struct td_draft_section *axis, td_name ways[TD_WAYS]);

/* Which way of its axis a way section is; TD_NO_WAY if axis or way is unknown. */
uint8_t td_draft_way_index(struct td_draft *draft, const struct td_draft_section *way);

/* The section of the other way of the same axis, or NULL. */
struct td_draft_section *td_draft_other_way(struct td_draft *draft, const struct td_draft_section *way);

/* Whether the file gives the key, with a good value or not. */
bool td_draft_given(const struct td_draft_section *section, enum td_key key);

/* Line of a value, or of its section where the value is a default. */
int td_draft_line(const struct td_draft_section *section, enum td_key key);

/* "[way boom raise]" */
enum { TD_LABEL_MAX = 2 * TD_NAME_MAX + 16 };
void td_draft_label(const struct td_draft_section *section, char out[TD_LABEL_MAX]);

#endif
