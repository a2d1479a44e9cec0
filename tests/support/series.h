/* SPDX-License-Identifier: MIT */
/* Measured values, and what share of them lies below what. Zero is an empty series. */
#ifndef TD_TESTS_SERIES_H
#define TD_TESTS_SERIES_H

#include <stddef.h>

struct series {
	double *value;
	size_t count;
	size_t room;
};

void series_add(struct series *series, double value);

/* The smallest value that `part` (0 ... 1) of them do not exceed; 0 where there are none. Sorts them. */
double series_share(struct series *series, double part);

void series_clear(struct series *series);

#endif
