/* SPDX-License-Identifier: MIT */
#include "sim/draw_text.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* Of the sans-serif fonts in common use the widest has about 0.6 of its size as its mean width of lower
 * case text (measured by eye, no source). */
#define CHARACTER_WIDTH 0.6

static bool is_tail(char c)
{
	return ((unsigned char)c & 0xc0U) == 0x80U;
}

static size_t wanted_length(unsigned char lead)
{
	if (lead < 0x80)
		return 1;
	if (lead >= 0xc2 && lead <= 0xdf)
		return 2;
	if (lead >= 0xe0 && lead <= 0xef)
		return 3;
	return lead >= 0xf0 && lead <= 0xf4 ? 4 : 0;
}

static bool allowed(uint32_t code, size_t length)
{
	static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};

	if (code < least[length] || code > 0x10ffff || (code >= 0xd800 && code <= 0xdfff))
		return false;
	return code >= 0x20 ? code != 0xfffe && code != 0xffff : code == '\t' || code == '\n';
}

/* Bytes of the character at `text`, or 0 where there is none that XML 1.0 (section 2.2) allows. */
static size_t character(const char *text, size_t bytes)
{
	size_t length = wanted_length((unsigned char)text[0]);
	uint32_t code;

	if (length == 0 || length > bytes)
		return 0;
	code = length == 1 ? (unsigned char)text[0] : (unsigned char)text[0] & (0xffU >> (length + 1));
	for (size_t i = 1; i < length; i++) {
		if (!is_tail(text[i]))
			return 0;
		code = code << 6 | ((unsigned char)text[i] & 0x3fU);
	}
	return allowed(code, length) ? length : 0;
}

void td_draw_escape(FILE *out, const char *text, size_t bytes)
{
	static const char special[] = "&<>\"'";
	static const char *const names[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&#39;"};

	while (bytes > 0) {
		size_t length = character(text, bytes);
		const char *found = *text ? strchr(special, *text) : NULL;

		if (length == 0)
			(void)fputs("\xef\xbf\xbd", out);
		else if (found)
			(void)fputs(names[found - special], out);
		else
			(void)fwrite(text, 1, length, out);
		text += length ? length : 1;
		bytes -= length ? length : 1;
	}
}

size_t td_draw_length(const char *text, size_t bytes)
{
	size_t characters = 0;

	while (bytes > 0) {
		size_t length = character(text, bytes);

		text += length ? length : 1;
		bytes -= length ? length : 1;
		characters++;
	}
	return characters;
}

double td_draw_width(size_t characters, double font_size)
{
	return (double)characters * font_size * CHARACTER_WIDTH;
}

size_t td_draw_fit(const char *text, double width, double font_size)
{
	size_t bytes = strlen(text);
	size_t used = 0;

	for (size_t characters = 1; used < bytes; characters++) {
		size_t length = character(text + used, bytes - used);

		if (td_draw_width(characters, font_size) > width)
			break;
		used += length ? length : 1;
	}
	return used;
}

size_t td_draw_line(const char *text, double width, double font_size, const char **next)
{
	size_t fits = td_draw_fit(text, width, font_size);
	size_t cut = fits;

	if (text[fits]) {
		while (cut > 0 && text[cut] != ' ')
			cut--;
		if (cut == 0)
			cut = fits > 0 ? fits : 1;
	}
	*next = text + cut;
	while (**next == ' ')
		(*next)++;
	return cut;
}
