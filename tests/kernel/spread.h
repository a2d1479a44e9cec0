/* SPDX-License-Identifier: MIT */
/* How a number of measured times are spread. */
#ifndef TD_TESTS_KERNEL_SPREAD_H
#define TD_TESTS_KERNEL_SPREAD_H

#include <stddef.h>

#include "core/time.h"

struct spread {
	td_ns least_ns;
	td_ns middle_ns;
	td_ns p99_ns;
	td_ns most_ns;
};

/* Sorts the spans; there is at least one. */
struct spread spread_of(td_ns *spans_ns, size_t count);

#endif
