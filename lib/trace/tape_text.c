/* SPDX-License-Identifier: MIT */
#include "trace/tape_parts.h"

static const char digits[] = "0123456789abcdef";

static bool stands_for_itself(char c, bool lines)
{
	if (c == '%' || c == '$' || c == 127)
		return false;
	return (unsigned char)c >= ' ' || (lines && (c == '\n' || c == '\t' || c == '\r'));
}

size_t td_tape_escape(char *text, size_t size, const char *bytes, size_t count, bool lines)
{
	size_t used = 0;

	for (size_t i = 0; i < count && used + 3 < size; i++) {
		unsigned char c = (unsigned char)bytes[i];

		if (stands_for_itself(bytes[i], lines)) {
			text[used++] = bytes[i];
			continue;
		}
		text[used++] = '%';
		text[used++] = digits[c >> 4];
		text[used++] = digits[c & 15];
	}
	text[used] = '\0';
	return used;
}

int td_tape_digit(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

int64_t td_tape_unescape(char *bytes, size_t size, const char *text, const char *end)
{
	size_t used = 0;

	while (text < end && used + 1 < size) {
		if (*text != '%') {
			bytes[used++] = *text++;
			continue;
		}
		if (end - text < 3 || td_tape_digit(text[1]) < 0 || td_tape_digit(text[2]) < 0)
			return -1;
		bytes[used++] = (char)(td_tape_digit(text[1]) << 4 | td_tape_digit(text[2]));
		text += 3;
	}
	if (text < end || size == 0)
		return -1;
	bytes[used] = '\0';
	return (int64_t)used;
}
