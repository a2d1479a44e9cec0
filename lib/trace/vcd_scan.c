/* SPDX-License-Identifier: MIT */
#include "trace/vcd_scan.h"

#include <string.h>

void td_vcd_scan_init(struct td_vcd_scan *scan, FILE *in)
{
	*scan = (struct td_vcd_scan){.in = in, .line = 1, .word_line = 1};
}

static int take(struct td_vcd_scan *scan)
{
	int c = getc_unlocked(scan->in);

	if (c == EOF)
		return EOF;
	scan->offset++;
	if (c == '\n')
		scan->line++;
	return c;
}

static bool is_blank(int c)
{
	return c == ' ' || c == '\n' || c == '\t' || c == '\r' || c == '\f' || c == '\v';
}

static enum td_vcd_scanned at_eof(struct td_vcd_scan *scan, enum td_vcd_scanned else_result)
{
	return ferror(scan->in) ? TD_VCD_READ_ERROR : else_result;
}

enum td_vcd_scanned td_vcd_scan_word(struct td_vcd_scan *scan)
{
	size_t length = 0;
	int c;

	do
		c = take(scan);
	while (is_blank(c));
	scan->word_offset = scan->offset - (c == EOF ? 0 : 1);
	scan->word_line = scan->line;
	if (c == EOF)
		return at_eof(scan, TD_VCD_END);
	for (; c != EOF && !is_blank(c); c = take(scan)) {
		if (c == 0)
			return TD_VCD_CUT;
		if (length == sizeof(scan->word) - 1)
			return TD_VCD_TOO_LONG;
		scan->word[length++] = (char)c;
	}
	scan->word[length] = '\0';
	return c == EOF ? at_eof(scan, TD_VCD_CUT) : TD_VCD_WORD;
}

/* True where `text` ends in "$end" standing as a word of its own so far. */
static bool ends_in_end(const char *text, size_t length)
{
	static const char end[] = "$end";
	const size_t size = sizeof(end) - 1;

	return length >= size && memcmp(text + length - size, end, size) == 0 &&
	       (length == size || is_blank(text[length - size - 1]));
}

enum td_vcd_scanned td_vcd_scan_text(struct td_vcd_scan *scan, char *text, size_t size, size_t *length)
{
	const size_t end_size = strlen("$end");
	size_t used = 0;

	for (int c = take(scan); c != EOF; c = take(scan)) {
		if (c == 0)
			return TD_VCD_CUT;
		if (is_blank(c) && ends_in_end(text, used)) {
			used -= used > end_size ? end_size + 1 : end_size;
			text[used] = '\0';
			*length = used;
			return TD_VCD_WORD;
		}
		if (used == size - 1)
			return TD_VCD_TOO_LONG;
		text[used++] = (char)c;
	}
	return at_eof(scan, TD_VCD_CUT);
}
