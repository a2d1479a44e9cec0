/* SPDX-License-Identifier: MIT */
#include "wire/line_buffer.h"

#include <string.h>

char *td_line_space(struct td_line_buffer *buffer, size_t *room)
{
	size_t left = buffer->to - buffer->from;

	memmove(buffer->bytes, buffer->bytes + buffer->from, left);
	buffer->from = 0;
	buffer->to = left;
	*room = sizeof(buffer->bytes) - left;
	return buffer->bytes + left;
}

void td_line_filled(struct td_line_buffer *buffer, size_t count)
{
	size_t room = sizeof(buffer->bytes) - buffer->to;

	buffer->to += count < room ? count : room;
}

enum td_line_result td_line_next(struct td_line_buffer *buffer, const char **line, size_t *length)
{
	const char *start = buffer->bytes + buffer->from;
	size_t left = buffer->to - buffer->from;
	const char *end = left > 0 ? memchr(start, '\n', left) : NULL;

	if (!end)
		return left > TD_LINE_MAX ? TD_LINE_TOO_LONG : TD_LINE_NONE;
	*line = start;
	*length = (size_t)(end - start);
	buffer->from += *length + 1;
	if (*length > 0 && end[-1] == '\r')
		*length -= 1;
	return TD_LINE_READY;
}
