/* SPDX-License-Identifier: MIT */
/* A process that does nothing but look at outputs, as a meter on the terminals would. */
#ifndef TD_TESTS_KERNEL_WATCH_H
#define TD_TESTS_KERNEL_WATCH_H

#include "tests/kernel/sim.h"

struct watch;

/* Looks at the first `lines` lines of the chip every two milliseconds until watch_end(). One at a time. */
struct watch *watch_start(const struct sim_chip *chip, unsigned lines);

/* So far: looks, each at all lines, and how many of them found any line high. */
unsigned long watch_looks(const struct watch *watch);
unsigned long watch_highs(const struct watch *watch);

void watch_end(struct watch *watch);

#endif
