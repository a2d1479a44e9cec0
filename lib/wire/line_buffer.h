/* SPDX-License-Identifier: MIT */
/*
 * From bytes as they arrive to lines: ends at '\n', nothing else ends a line (a U+2028 inside a string does
 * not). A '\r' before the '\n' is dropped. Fixed size; never allocates, never fails.
 *
 * Lines may wait here, to be given out one after the other when their turn comes. Meanwhile each can be looked at, and be
 * taken out ahead of those before it; from then on these know when that was.
 */
#ifndef TD_WIRE_LINE_BUFFER_H
#define TD_WIRE_LINE_BUFFER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/time.h"
#include "wire/limits.h"

enum {
	TD_LINES_WAITING_MAX = 64 * 1024, /* bytes of the lines that wait */
	TD_LINE_MARKS = 8,                /* lines taken out ahead of others that still wait */
};

/* The bytes before `end` came before a line that was taken out at `at_ns`. */
struct td_line_mark {
	size_t end;
	td_ns at_ns;
};

/* All zero is an empty buffer. */
struct td_line_buffer {
	size_t from;   /* first byte not yet given out */
	size_t to;     /* one past the last byte filled in */
	size_t looked; /* one past the last line looked at */
	size_t look;   /* where that line begins */
	unsigned int marks;
	struct td_line_mark mark[TD_LINE_MARKS];
	char bytes[TD_LINES_WAITING_MAX];
};

enum td_line_result { TD_LINE_NONE = 0, TD_LINE_READY, TD_LINE_TOO_LONG };

/* Where the next bytes go, and how many may (*room, 0 only when td_line_next() has something to say).
 * Lines given out before are no longer valid afterwards. */
char *td_line_space(struct td_line_buffer *buffer, size_t *room);

/* `count` bytes were put there. */
void td_line_filled(struct td_line_buffer *buffer, size_t count);

/* The next whole line, not terminated, valid until td_line_space() or td_line_take_out(). TOO_LONG: more than TD_LINE_MAX bytes
 * before the newline, or without one; the connection has to end. */
enum td_line_result td_line_next(struct td_line_buffer *buffer, const char **line, size_t *length);

/* td_line_next() has something to say. */
bool td_line_waits(const struct td_line_buffer *buffer);

/* When the first line was taken out ahead of this one, which td_line_next() gave out last; TD_NEVER: none was. */
td_ns td_line_passed(const struct td_line_buffer *buffer, const char *line);

/* The next whole line that waits and was not looked at; it stays where it is. False: there is none. */
bool td_line_look(struct td_line_buffer *buffer, const char **line, size_t *length);

/* The line looked at last is taken out, and it is `at_ns`, which rises from call to call. Where too many were, the ones before it
 * count as passed when an earlier one was. */
void td_line_take_out(struct td_line_buffer *buffer, td_ns at_ns);

#endif
