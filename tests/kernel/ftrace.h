/* SPDX-License-Identifier: MIT */
/*
 * What the kernel did to the lines, in its own words: the trace point gpio:gpio_value, stamped with
 * CLOCK_MONOTONIC. A level that stood for less than a read takes shows here and nowhere else.
 */
#ifndef TD_TESTS_KERNEL_FTRACE_H
#define TD_TESTS_KERNEL_FTRACE_H

#include <stdbool.h>
#include <stddef.h>

#include "core/time.h"

struct ftrace_write {
	td_ns at_ns;   /* in whole microseconds */
	unsigned line; /* the kernel's own number */
	bool high;
};

/* Empties the trace and records writes of levels from now on. */
void ftrace_start(void);

/* Stops, and gives the writes since the start, oldest first: how many, at most `max`. Ends the program if
 * there were more, or if the kernel lost some. */
size_t ftrace_stop(struct ftrace_write *writes, size_t max);

/* When this level was first written to the line, at `from_ns` or later; -1 = never. */
td_ns ftrace_find(const struct ftrace_write *writes, size_t count, unsigned line, bool high, td_ns from_ns);

#endif
