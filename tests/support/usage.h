/* SPDX-License-Identifier: MIT */
/* What a process uses, as the kernel says (proc(5)). */
#ifndef TD_TESTS_USAGE_H
#define TD_TESTS_USAGE_H

#include <sys/types.h>

#include "core/time.h"

struct usage {
	td_ns at_ns;
	double cpu_s;
	long wakeups; /* times it waited of its own accord */
	long peak_kb; /* resident, since usage_forget_peak() */
	long pss_kb;  /* resident now, what is shared divided among those who share it */
	long own_kb;  /* resident now, of no file and no shared memory: no other process changes it */
	long fds;
};

struct usage usage_of(pid_t pid);

/* The peak counts from now on. */
void usage_forget_peak(pid_t pid);

#endif
