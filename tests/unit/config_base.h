/* SPDX-License-Identifier: MIT */
/*
 * A small valid configuration as numbered lines, and a way to change some of them: what the tests of
 * lib/config start from. Every number in it is invented.
 */
#ifndef TESTS_UNIT_CONFIG_BASE_H
#define TESTS_UNIT_CONFIG_BASE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "config/config.h"

enum { BASE_TEXT_MAX = 65536 + 4096, EDITS_MAX = 4 };

static const char *const base_lines[] = {
	"[machine]",             /* 1 */
	"name = test cart",      /* 2 */
	"backend = bench",       /* 3 */
	"board = board.sock",    /* 4 */
	"emergency_stop = halt", /* 5 */
	"[keeper]",              /* 6 */
	"socket = keeper.sock",  /* 7 */
	"[visitor]",             /* 8 */
	"socket = visitor.sock", /* 9 */
	"[axis boom]",           /* 10 */
	"ways = lower raise",    /* 11 */
	"[way boom lower]",      /* 12 */
	"input = cart:0",        /* 13 */
	"end_switch = bottom",   /* 14 */
	"travel_ms = 1000",      /* 15 */
	"[way boom raise]",      /* 16 */
	"input = cart:1",        /* 17 */
	"end_switch = top",      /* 18 */
	"travel_ms = 2000",      /* 19 */
	"[axis wheel]",          /* 20 */
	"ways = left right",     /* 21 */
	"[way wheel left]",      /* 22 */
	"input = cart:2",        /* 23 */
	"hold_limit_ms = 500",   /* 24 */
	"[way wheel right]",     /* 25 */
	"input = cart:3",        /* 26 */
	"hold_limit_ms = 500",   /* 27 */
	"[axis lamp-arm]",       /* 28 */
	"ways = in out",         /* 29 */
	"[way lamp-arm in]",     /* 30 */
	"input = cart:4",        /* 31 */
	"hold_limit_ms = 500",   /* 32 */
	"[way lamp-arm out]",    /* 33 */
	"input = cart:5",        /* 34 */
	"hold_limit_ms = 500",   /* 35 */
	"[switch bottom]",       /* 36 */
	"line = cart:10",        /* 37 */
	"[switch top]",          /* 38 */
	"line = cart:11",        /* 39 */
	"[switch halt]",         /* 40 */
	"line = HALT_CONTACT",   /* 41 */
};

enum { BASE_LINES = sizeof(base_lines) / sizeof(base_lines[0]) };

/* Replaces a line; the text may have several lines, which shifts those that follow. */
struct edit {
	int line; /* 0 = no edit */
	const char *text;
};

static inline const char *edited_line(int line, const struct edit *edits, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (edits[i].line == line)
			return edits[i].text;
	return base_lines[line - 1];
}

/* Writes the base with its edits; returns the length. */
static inline size_t base_with(const struct edit *edits, size_t count, char out[BASE_TEXT_MAX])
{
	size_t length = 0;

	for (int line = 1; line <= BASE_LINES; line++)
		length += (size_t)snprintf(out + length, BASE_TEXT_MAX - length, "%s\n",
					   edited_line(line, edits, count));
	return length;
}

/* What a reader gave; static since it is large. */
struct reading {
	bool good;
	struct td_config config;
	struct td_config_faults faults;
};

static inline void read_text(struct reading *reading, const char *text, size_t length)
{
	reading->good = td_config_read_text(text, length, "x.conf", &reading->config, &reading->faults);
}

static inline void print_faults(const struct reading *reading)
{
	for (size_t i = 0; i < reading->faults.count && i < TD_FAULTS_MAX; i++)
		printf("# fault: %s\n", reading->faults.fault[i].text);
}

/* Reads the base with one line replaced. */
static inline void read_edited(struct reading *reading, int line, const char *text)
{
	static char file[BASE_TEXT_MAX];
	struct edit edit = {line, text};

	read_text(reading, file, base_with(&edit, 1, file));
}

static inline bool has_fault(const struct reading *reading, const char *part)
{
	for (size_t i = 0; i < reading->faults.count && i < TD_FAULTS_MAX; i++)
		if (strstr(reading->faults.fault[i].text, part))
			return true;
	return false;
}

#endif
