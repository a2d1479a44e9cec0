/* SPDX-License-Identifier: MIT */
/*
 * Writing in columns: counts what it writes, cuts off and fills up, folds sentences, and knows whether the
 * reader's end shows UTF-8 and emphasis. Nothing is ever told by emphasis alone.
 *
 * Text that comes from outside passes through here, so that no control character of it reaches a terminal.
 */
#ifndef TD_DAEMON_CLIENT_PEN_H
#define TD_DAEMON_CLIENT_PEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Strong where something moves, alarm where something is stopped for a reason, faint for side matters. */
enum td_ink { TD_INK_PLAIN = 0, TD_INK_STRONG, TD_INK_ALARM, TD_INK_FAINT };

/* X(IDENT, "in UTF-8", "in ASCII"): one column each. */
#define TD_GLYPH_TABLE(X)                                                                                    \
	X(RULE, "─", "-")                                                                                    \
	X(TRACK, "─", "-")                                                                                   \
	X(END_ACTIVE, "■", "#")                                                                              \
	X(END_CLEAR, "□", "|")                                                                               \
	X(END_NONE, "┊", ":")                                                                                \
	X(HERE, "●", "o")                                                                                    \
	X(TO_FIRST, "◀", "<")                                                                                \
	X(TO_SECOND, "▶", ">")                                                                               \
	X(CUT, "…", "~")

enum td_glyph {
#define TD_X(ident, utf8, ascii) TD_GLYPH_##ident,
	TD_GLYPH_TABLE(TD_X)
#undef TD_X
};

struct td_pen {
	FILE *out;
	size_t width; /* columns of the page, at least 1 */
	bool utf8;
	bool colour;
	size_t column; /* written on this line so far; 0 at the start */
	size_t blanks; /* the last of them, not yet written: a line never ends in blanks */
};

/* Writes text; a character the reader's end cannot show, or that would steer a terminal, becomes '?'. */
void td_pen_text(struct td_pen *pen, const char *text);

/* The same in exactly `columns` columns: cut off with a mark, or filled up with blanks. */
void td_pen_field(struct td_pen *pen, const char *text, size_t columns);
void td_pen_field_right(struct td_pen *pen, const char *text, size_t columns);

void td_pen_glyph(struct td_pen *pen, enum td_glyph glyph);
void td_pen_repeat(struct td_pen *pen, enum td_glyph glyph, size_t columns);
void td_pen_blanks(struct td_pen *pen, size_t columns);
void td_pen_newline(struct td_pen *pen);

/* From here on in this ink; everything is plain at the end of a line. */
void td_pen_ink(struct td_pen *pen, enum td_ink ink);

/* Writes a text word by word from where the pen is, folded at the width, further lines indented. */
void td_pen_fold(struct td_pen *pen, const char *text, size_t indent);

/* Columns a text takes: its characters, not its bytes. */
size_t td_pen_columns(const char *text);

#endif
