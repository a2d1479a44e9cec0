/* SPDX-License-Identifier: MIT */
#include "config/words.h"

#include <string.h>

static const char blanks[] = " \t";

static size_t word_length(const char *text, size_t length)
{
	size_t n = 0;

	while (n < length && !strchr(blanks, text[n]))
		n++;
	return n;
}

static void keep(struct td_words *words, const char *text, size_t length)
{
	if (length > TD_CONFIG_LINE_MAX)
		length = TD_CONFIG_LINE_MAX;
	if (words->count < TD_WORDS_KEPT)
		memcpy(words->word[words->count], text, length);
	words->count++;
}

void td_words_split(const char *text, size_t length, struct td_words *words)
{
	memset(words, 0, sizeof(*words));
	for (size_t at = 0; at < length;) {
		size_t n = word_length(text + at, length - at);

		if (n > 0)
			keep(words, text + at, n);
		at += n > 0 ? n : 1;
	}
}

bool td_name_well_formed(const char *name)
{
	static const char letters[] = "abcdefghijklmnopqrstuvwxyz";
	static const char allowed[] = "abcdefghijklmnopqrstuvwxyz0123456789_-";
	size_t length = strlen(name);

	return length > 0 && length < TD_NAME_MAX && strspn(name, letters) > 0 &&
	       strspn(name, allowed) == length;
}
