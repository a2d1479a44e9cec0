/* SPDX-License-Identifier: MIT */
/*
 * From bytes as they arrive to lines: ends at '\n', nothing else ends a line (a U+2028 inside a string does
 * not). A '\r' before the '\n' is dropped. Fixed size; never allocates, never fails.
 */
#ifndef TD_WIRE_LINE_BUFFER_H
#define TD_WIRE_LINE_BUFFER_H

#include <stddef.h>

#include "wire/limits.h"

/* All zero is an empty buffer. */
struct td_line_buffer {
	size_t from; /* first byte not yet given out */
	size_t to;   /* one past the last byte filled in */
	char bytes[TD_LINE_MAX + 1];
};

enum td_line_result { TD_LINE_NONE = 0, TD_LINE_READY, TD_LINE_TOO_LONG };

/* Where the next bytes go, and how many may (*room, 0 only when td_line_next() has something to say).
 * Lines given out before are no longer valid afterwards. */
char *td_line_space(struct td_line_buffer *buffer, size_t *room);

/* `count` bytes were put there. */
void td_line_filled(struct td_line_buffer *buffer, size_t count);

/* The next whole line, not terminated, valid until td_line_space(). TOO_LONG: more than TD_LINE_MAX bytes
 * without a newline; where the line ends is not known any more, so the connection has to end. */
enum td_line_result td_line_next(struct td_line_buffer *buffer, const char **line, size_t *length);

#endif
