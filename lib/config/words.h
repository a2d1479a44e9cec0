/* SPDX-License-Identifier: MIT */
/* Text into words, and which word is a well-formed name. Pure; nothing fails or blocks. */
#ifndef TD_CONFIG_WORDS_H
#define TD_CONFIG_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "config/key_table.h"

enum { TD_WORDS_KEPT = 4 };

struct td_words {
	size_t count; /* all words, also past TD_WORDS_KEPT */
	char word[TD_WORDS_KEPT][TD_CONFIG_LINE_MAX + 1];
};

/* Splits `length` bytes at blanks and tabs. At most TD_CONFIG_LINE_MAX bytes of a word are kept, which
 * no line of a file exceeds. */
void td_words_split(const char *text, size_t length, struct td_words *words);

/* a-z, 0-9, '_' and '-', beginning with a letter; 1 ... TD_NAME_MAX - 1 bytes. */
bool td_name_well_formed(const char *name);

#endif
