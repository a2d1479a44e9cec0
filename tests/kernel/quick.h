/* SPDX-License-Identifier: MIT */
/*
 * For what is done a hundred times: boom and vent of the glasshouse cart with pauses of 5 ms, and a daemon that is
 * started as a service manager does it, only sooner.
 */
#ifndef TD_TESTS_KERNEL_QUICK_H
#define TD_TESTS_KERNEL_QUICK_H

#include <stdbool.h>

#include "tests/kernel/glasshouse.h"

/* Writes the configuration; the vent's lines are on the chip of that label, the boom's on the house's. */
void quick_configure(const char *vent_chip, int confirm_ms);

/* From now on the daemon is the one with faults on demand, or the one that is delivered. */
void quick_use_faults(bool faults);

/* Starts the daemon unless one runs: true if it is armed. For a daemon that ends by itself, because its lines are
 * missing or still held by what is left of the last one, it is done again and again. */
bool quick_try(void);

/* The same until it is armed; fails the test after 5 s. */
void quick_start(void);

/* A hold of `lease_ms` that must be taken, and powers the line within a second. */
void quick_hold(const char *axis, const char *way, enum glasshouse_line line, int lease_ms);

/* Waits up to three seconds for the daemon's end: its exit code, as td_child_wait() gives it. Its children have gone
 * too, or are about to. */
int quick_ended(void);

#endif
