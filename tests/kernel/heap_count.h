/* SPDX-License-Identifier: MIT */
/* Counts the requests for memory of this program and its libraries. */
#ifndef TD_TESTS_KERNEL_HEAP_COUNT_H
#define TD_TESTS_KERNEL_HEAP_COUNT_H

unsigned long heap_count(void);

#endif
