/* SPDX-License-Identifier: MIT */
#include "tests/support/series.h"

#include <stdlib.h>
#include <string.h>

enum { ROOM_FIRST = 64 };

void series_add(struct series *series, double value)
{
	if (series->count == series->room) {
		series->room = series->room > 0 ? 2 * series->room : ROOM_FIRST;
		series->value = realloc(series->value, series->room * sizeof(*series->value));
		if (!series->value)
			abort();
	}
	series->value[series->count++] = value;
}

static int by_size(const void *a, const void *b)
{
	double x = 0;
	double y = 0;

	memcpy(&x, a, sizeof(x));
	memcpy(&y, b, sizeof(y));
	return (x > y) - (x < y);
}

double series_share(struct series *series, double part)
{
	if (series->count == 0)
		return 0;
	qsort(series->value, series->count, sizeof(*series->value), by_size);
	size_t rank = (size_t)((double)series->count * part + 0.999999);

	return series->value[rank > 0 ? rank - 1 : 0];
}

void series_clear(struct series *series)
{
	free(series->value);
	memset(series, 0, sizeof(*series));
}
