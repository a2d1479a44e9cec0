/* SPDX-License-Identifier: MIT */
#include "wire/line_buffer.h"

#include <string.h>

/* What was given out needs no marks any more. */
static void drop_marks(struct td_line_buffer *buffer)
{
	unsigned int gone = 0;

	while (gone < buffer->marks && buffer->mark[gone].end <= buffer->from)
		gone++;
	buffer->marks -= gone;
	memmove(buffer->mark, buffer->mark + gone, buffer->marks * sizeof(buffer->mark[0]));
}

/* Moves what is left to the front. */
static void compact(struct td_line_buffer *buffer)
{
	size_t gone = buffer->from;

	drop_marks(buffer);
	for (unsigned int i = 0; i < buffer->marks; i++)
		buffer->mark[i].end -= gone;
	memmove(buffer->bytes, buffer->bytes + gone, buffer->to - gone);
	buffer->looked = buffer->looked > gone ? buffer->looked - gone : 0;
	buffer->to -= gone;
	buffer->from = 0;
}

char *td_line_space(struct td_line_buffer *buffer, size_t *room)
{
	if (buffer->from == buffer->to || sizeof(buffer->bytes) - buffer->to <= TD_LINE_MAX)
		compact(buffer);
	*room = sizeof(buffer->bytes) - buffer->to;
	return buffer->bytes + buffer->to;
}

void td_line_filled(struct td_line_buffer *buffer, size_t count)
{
	size_t room = sizeof(buffer->bytes) - buffer->to;

	buffer->to += count < room ? count : room;
}

/* The line that begins at `at`, without moving on; *whole is its length with the newline. */
static enum td_line_result line_at(const struct td_line_buffer *buffer, size_t at, size_t *whole)
{
	size_t left = buffer->to - at;
	const char *start = buffer->bytes + at;
	const char *end = left > 0 ? memchr(start, '\n', left) : NULL;

	if (!end)
		return left > TD_LINE_MAX ? TD_LINE_TOO_LONG : TD_LINE_NONE;
	*whole = (size_t)(end - start) + 1;
	return *whole - 1 > TD_LINE_MAX ? TD_LINE_TOO_LONG : TD_LINE_READY;
}

static void give(const struct td_line_buffer *buffer, size_t at, size_t whole, const char **line,
		 size_t *length)
{
	*line = buffer->bytes + at;
	*length = whole - 1;
	if (*length > 0 && (*line)[*length - 1] == '\r')
		*length -= 1;
}

enum td_line_result td_line_next(struct td_line_buffer *buffer, const char **line, size_t *length)
{
	size_t whole = 0;
	enum td_line_result result = line_at(buffer, buffer->from, &whole);

	if (result != TD_LINE_READY)
		return result;
	drop_marks(buffer);
	give(buffer, buffer->from, whole, line, length);
	buffer->from += whole;
	return TD_LINE_READY;
}

bool td_line_waits(const struct td_line_buffer *buffer)
{
	size_t whole = 0;

	return line_at(buffer, buffer->from, &whole) != TD_LINE_NONE;
}

td_ns td_line_passed(const struct td_line_buffer *buffer, const char *line)
{
	size_t at = (size_t)(line - buffer->bytes);

	for (unsigned int i = 0; i < buffer->marks; i++)
		if (at < buffer->mark[i].end)
			return buffer->mark[i].at_ns;
	return TD_NEVER;
}

bool td_line_look(struct td_line_buffer *buffer, const char **line, size_t *length)
{
	size_t whole = 0;
	size_t at = buffer->looked > buffer->from ? buffer->looked : buffer->from;

	if (line_at(buffer, at, &whole) != TD_LINE_READY)
		return false;
	give(buffer, at, whole, line, length);
	buffer->look = at;
	buffer->looked = at + whole;
	return true;
}

void td_line_take_out(struct td_line_buffer *buffer, td_ns at_ns)
{
	memmove(buffer->bytes + buffer->look, buffer->bytes + buffer->looked, buffer->to - buffer->looked);
	buffer->to -= buffer->looked - buffer->look;
	buffer->looked = buffer->look;
	drop_marks(buffer);
	if (buffer->look == buffer->from)
		return;
	if (buffer->marks < TD_LINE_MARKS)
		buffer->mark[buffer->marks++] = (struct td_line_mark){buffer->look, at_ns};
	else
		buffer->mark[TD_LINE_MARKS - 1].end = buffer->look;
}
