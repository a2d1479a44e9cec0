/* SPDX-License-Identifier: MIT */
#include "daemon/client/pen.h"

#include <stdint.h>
#include <string.h>

/* --- characters ------------------------------------------------------------------------------------- */

/* Bytes of the character at `text`; 0 at the end. A byte that begins no well-formed character counts as one. */
static size_t character_length(const char *text)
{
	unsigned char first = (unsigned char)text[0];
	size_t length = 1;

	if (first == 0)
		return 0;
	if (first >= 0xc2 && first <= 0xdf)
		length = 2;
	else if ((first & 0xf0) == 0xe0)
		length = 3;
	else if (first >= 0xf0 && first <= 0xf4)
		length = 4;
	for (size_t i = 1; i < length; i++)
		if (((unsigned char)text[i] & 0xc0) != 0x80)
			return 1;
	return length;
}

/* C0, DEL and C1 (U+0080 ... U+009F), and bytes that are no UTF-8. */
static bool shown_as_it_is(const struct td_pen *pen, const char *text, size_t length)
{
	unsigned char first = (unsigned char)text[0];

	if (length == 1)
		return first >= 0x20 && first < 0x7f;
	return pen->utf8 && !(first == 0xc2 && (unsigned char)text[1] < 0xa0);
}

size_t td_pen_columns(const char *text)
{
	size_t columns = 0;

	for (size_t length; (length = character_length(text)) > 0; text += length)
		columns++;
	return columns;
}

static void write_blanks(struct td_pen *pen)
{
	for (; pen->blanks > 0; pen->blanks--)
		(void)fputc(' ', pen->out);
}

/* At most `columns` characters; returns the rest. */
static const char *write_some(struct td_pen *pen, const char *text, size_t columns)
{
	for (size_t length; columns > 0 && (length = character_length(text)) > 0; text += length, columns--) {
		pen->column++;
		if (*text == ' ') {
			pen->blanks++;
			continue;
		}
		write_blanks(pen);
		if (shown_as_it_is(pen, text, length))
			(void)fwrite(text, 1, length, pen->out);
		else
			(void)fputc('?', pen->out);
	}
	return text;
}

void td_pen_text(struct td_pen *pen, const char *text)
{
	(void)write_some(pen, text, SIZE_MAX);
}

/* --- columns ---------------------------------------------------------------------------------------- */

static void write_cut(struct td_pen *pen, const char *text, size_t columns)
{
	if (td_pen_columns(text) <= columns) {
		td_pen_text(pen, text);
	} else if (columns > 0) {
		(void)write_some(pen, text, columns - 1);
		td_pen_glyph(pen, TD_GLYPH_CUT);
	}
}

void td_pen_field(struct td_pen *pen, const char *text, size_t columns)
{
	size_t end = pen->column + columns;

	write_cut(pen, text, columns);
	td_pen_blanks(pen, end - pen->column);
}

void td_pen_field_right(struct td_pen *pen, const char *text, size_t columns)
{
	size_t wanted = td_pen_columns(text);

	if (wanted < columns)
		td_pen_blanks(pen, columns - wanted);
	write_cut(pen, text, columns);
}

void td_pen_glyph(struct td_pen *pen, enum td_glyph glyph)
{
	static const char *const table[][2] = {
#define TD_X(ident, utf8, ascii) {utf8, ascii},
		TD_GLYPH_TABLE(TD_X)
#undef TD_X
	};

	write_blanks(pen);
	(void)fputs(table[glyph][pen->utf8 ? 0 : 1], pen->out);
	pen->column++;
}

void td_pen_repeat(struct td_pen *pen, enum td_glyph glyph, size_t columns)
{
	for (; columns > 0; columns--)
		td_pen_glyph(pen, glyph);
}

void td_pen_blanks(struct td_pen *pen, size_t columns)
{
	pen->column += columns;
	pen->blanks += columns;
}

void td_pen_newline(struct td_pen *pen)
{
	td_pen_ink(pen, TD_INK_PLAIN);
	(void)fputc('\n', pen->out);
	pen->column = 0;
	pen->blanks = 0;
}

void td_pen_ink(struct td_pen *pen, enum td_ink ink)
{
	/* ECMA-48 select graphic rendition: normal, bold, bold red, faint. */
	static const char *const sequence[] = {"\033[0m", "\033[1m", "\033[1;31m", "\033[2m"};

	if (pen->colour)
		(void)fputs(sequence[ink], pen->out);
}

/* --- folding ---------------------------------------------------------------------------------------- */

static void write_word(struct td_pen *pen, const char *word, size_t length)
{
	const char *end = word + length;

	while (word < end)
		word = write_some(pen, word, 1);
}

void td_pen_fold(struct td_pen *pen, const char *text, size_t indent)
{
	bool first = true;

	for (text += strspn(text, " "); *text; text += strspn(text, " ")) {
		size_t length = strcspn(text, " ");
		size_t columns = 0;

		for (size_t at = 0; at < length; at += character_length(text + at))
			columns++;
		if (!first && pen->column + 1 + columns > pen->width) {
			(void)fputc('\n', pen->out);
			pen->column = 0;
			pen->blanks = 0;
			td_pen_blanks(pen, indent);
		} else if (!first) {
			td_pen_blanks(pen, 1);
		}
		write_word(pen, text, length);
		text += length;
		first = false;
	}
}
