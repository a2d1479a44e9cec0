/* SPDX-License-Identifier: MIT */
/* Text in drawings: escaping, guessing widths, breaking lines. */
#ifndef TD_SIM_DRAW_TEXT_H
#define TD_SIM_DRAW_TEXT_H

#include <stddef.h>
#include <stdio.h>

/* Writes the first `bytes` of `text` as XML character data, good inside attributes too. Characters XML
 * has no place for and bytes that are no UTF-8 become U+FFFD. */
void td_draw_escape(FILE *out, const char *text, size_t bytes);

/* Characters in the first `bytes` of `text`. */
size_t td_draw_length(const char *text, size_t bytes);

/* How wide that many characters are at most, at a font size. A guess on the safe side, for the font is
 * whatever the viewer has. */
double td_draw_width(size_t characters, double font_size);

/* How many bytes of `text` fit into `width`; cuts between characters. */
size_t td_draw_fit(const char *text, double width, double font_size);

/* The same, but cuts between words where there is a blank. *next is where the next line begins. */
size_t td_draw_line(const char *text, double width, double font_size, const char **next);

#endif
