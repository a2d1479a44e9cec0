/* SPDX-License-Identifier: MIT */
/* Running text broken into lines, for people at a terminal and as mdoc(7). */
#ifndef TD_LAYOUT_H
#define TD_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

struct td_layout {
	size_t indent; /* blanks before each line */
	bool mdoc;     /* each sentence begins a line of its own, and no word is taken for a macro */
};

/* Writes `text`, whose words are separated by blanks, in lines of at most 78 columns (a longer word has a line
 * of its own), the last one ended. Errors stay in the stream (ferror). */
void td_layout_text(FILE *out, const struct td_layout *layout, const char *text);

/* The same for one printf-like sentence of at most 639 bytes, which begins with a capital letter whatever was given. */
void td_layout_sentence(FILE *out, const struct td_layout *layout, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

/* One item of a list, what is told of it in parentheses ("" for nothing): as mdoc(7) an .It, else a line of its own behind
 * an empty one. */
void td_layout_item(FILE *out, const struct td_layout *layout, const char *name, const char *facts);

/* The list around the items; in plain text there is nothing to be seen of it. */
void td_layout_list(FILE *out, const struct td_layout *layout);
void td_layout_list_end(FILE *out, const struct td_layout *layout);

#endif
