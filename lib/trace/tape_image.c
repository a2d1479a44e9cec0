/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/crc.h"
#include "trace/tape_parts.h"

enum { LINE_BYTES = 32 };

static bool only_zeros(const uint8_t *bytes, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (bytes[i] != 0)
			return false;
	return true;
}

static size_t line_at(size_t offset, size_t count)
{
	return count - offset < LINE_BYTES ? count - offset : LINE_BYTES;
}

static size_t write_line(char *text, size_t size, size_t offset, const uint8_t *bytes, size_t count)
{
	static const char digits[] = "0123456789abcdef";
	int head = snprintf(text, size, "\n%zu ", offset);
	size_t used = head > 0 ? (size_t)head : 0;

	for (size_t i = 0; i < count && used + 2 < size; i++) {
		text[used++] = digits[bytes[i] >> 4];
		text[used++] = digits[bytes[i] & 15];
	}
	text[used] = '\0';
	return used;
}

void td_tape_image_text(char *text, size_t size, const char *label, const void *bytes, size_t count)
{
	const uint8_t *byte = bytes;
	int head = snprintf(text, size, "%s %zu %08" PRIx32, label, count, td_crc32(bytes, count));
	size_t used = head > 0 ? (size_t)head : 0;

	for (size_t offset = 0; offset < count; offset += LINE_BYTES) {
		size_t length = line_at(offset, count);

		if (!only_zeros(byte + offset, length))
			used += write_line(text + used, size - used, offset, byte + offset, length);
	}
}

/* --- reading ----------------------------------------------------------------------------------------- */

/* A number from 0 to `max` with `after` behind it; NULL where there is none. */
static const char *read_number(const char *text, int base, uint64_t max, char after, uint64_t *number)
{
	char *end;

	if (td_tape_digit(*text) < 0)
		return NULL;
	*number = strtoull(text, &end, base);
	return *number <= max && *end == after ? end + 1 : NULL;
}

static const char *read_bytes(const char *text, uint8_t *bytes, size_t count)
{
	for (size_t i = 0; i < count; i++, text += 2) {
		int high = td_tape_digit(text[0]);
		int low = high < 0 ? -1 : td_tape_digit(text[1]);

		if (low < 0)
			return NULL;
		bytes[i] = (uint8_t)(high << 4 | low);
	}
	return text;
}

/* The lines, each behind a line end; offsets rise. */
static bool read_lines(const char *text, uint8_t *bytes, size_t count)
{
	uint64_t offset = 0;
	uint64_t next = 0;

	while (*text == '\n') {
		text = read_number(text + 1, 10, count - 1, ' ', &offset);
		if (!text || offset % LINE_BYTES != 0 || offset < next)
			return false;
		text = read_bytes(text, bytes + offset, line_at((size_t)offset, count));
		if (!text)
			return false;
		next = offset + LINE_BYTES;
	}
	return *text == '\0';
}

int td_tape_image_read(const char *text, const char *label, void *bytes, size_t room, size_t *count,
		       struct td_error *err)
{
	size_t length = strlen(label);
	uint64_t size = 0;
	uint64_t sum = 0;
	const char *at = text + length + 1;

	*count = 0;
	if (strncmp(text, label, length) != 0 || text[length] != ' ')
		return td_error_set(err, "here should be the %s that the recording begins with", label);
	at = read_number(at, 10, room, ' ', &size);
	if (!at || size == 0)
		return td_error_set(err, "the size of the %s is missing, or more than this program reads",
				    label);
	memset(bytes, 0, (size_t)size);
	/* the number ends at a line end, or at the end of the text where there is nothing but zeros */
	const char *lines = strchr(at, '\n');

	if (!lines)
		lines = at + strlen(at);
	if (!read_number(at, 16, UINT32_MAX, *lines, &sum) || !read_lines(lines, bytes, (size_t)size) ||
	    td_crc32(bytes, (size_t)size) != sum)
		return td_error_set(err, "the %s is damaged: its checksum does not match", label);
	*count = (size_t)size;
	return 0;
}
