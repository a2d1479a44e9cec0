/* SPDX-License-Identifier: MIT */
#include "layout.h"

#include <ctype.h>
#include <stdarg.h>
#include <string.h>

enum { COLUMNS = 78, SENTENCE_MAX = 640 };

static void put_word(FILE *out, const struct td_layout *layout, const char *word, size_t length)
{
	if (layout->mdoc && (word[0] == '.' || word[0] == '\''))
		fputs("\\&", out);
	fprintf(out, "%.*s", (int)length, word);
}

void td_layout_text(FILE *out, const struct td_layout *layout, const char *text)
{
	size_t column = 0;
	bool sentence_over = false;

	while (*text) {
		size_t length = strcspn(text, " ");

		if (column > 0 && (column + 1 + length > COLUMNS || (layout->mdoc && sentence_over))) {
			fputc('\n', out);
			column = 0;
		}
		fprintf(out, "%*s", column > 0 ? 1 : (int)layout->indent, "");
		put_word(out, layout, text, length);
		column += (column > 0 ? 1 : layout->indent) + length;
		sentence_over = length > 0 && text[length - 1] == '.';
		text += length + (text[length] != '\0');
	}
	fputc('\n', out);
}

void td_layout_sentence(FILE *out, const struct td_layout *layout, const char *format, ...)
{
	char sentence[SENTENCE_MAX];
	va_list args;

	va_start(args, format);
	(void)vsnprintf(sentence, sizeof(sentence), format, args);
	va_end(args);
	sentence[0] = (char)toupper((unsigned char)sentence[0]);
	td_layout_text(out, layout, sentence);
}

void td_layout_item(FILE *out, const struct td_layout *layout, const char *name, const char *facts)
{
	bool bare = facts[0] == '\0';

	if (layout->mdoc)
		fprintf(out, ".It Ic %s%s%s\n", name, bare ? "" : " Pq ", facts);
	else
		fprintf(out, "\n%*s%s%s%s%s\n", (int)layout->indent, "", name, bare ? "" : " (", facts,
			bare ? "" : ")");
}

void td_layout_list(FILE *out, const struct td_layout *layout)
{
	if (layout->mdoc)
		fputs(".Bl -tag -width Ds\n", out);
}

void td_layout_list_end(FILE *out, const struct td_layout *layout)
{
	if (layout->mdoc)
		fputs(".El\n", out);
}
