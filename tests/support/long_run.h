/* SPDX-License-Identifier: MIT */
/* A trace as long as one likes: the test cart, whose four axes are held, renewed and turned round all the time, with ends
 * that are reached, trips and resets. Made as it is written, so that it fits into a pipe. */
#ifndef TD_TESTS_LONG_RUN_H
#define TD_TESTS_LONG_RUN_H

#include <stdint.h>
#include <stdio.h>

/* Writes about `bytes` of it. Returns the number of steps, or -1 where it could not be written. */
int64_t long_run_write(FILE *out, int64_t bytes);

#endif
