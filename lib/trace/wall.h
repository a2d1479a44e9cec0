/* SPDX-License-Identifier: MIT */
/* The wall clock of a trace: RFC 3339 text to nanoseconds since 1970 in UTC. */
#ifndef TD_TRACE_WALL_H
#define TD_TRACE_WALL_H

#include <stdint.h>

/* Reads "2026-11-25T02:13:44Z", with any number of decimals of the second; no other offset than Z. 0 for whatever is
 * something else, a date that does not exist, or one outside 1970 ... 2261. Never fails. */
int64_t td_wall_parse(const char *text);

#endif
