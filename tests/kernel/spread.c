/* SPDX-License-Identifier: MIT */
#include "tests/kernel/spread.h"

#include <stdlib.h>

static int compare(const void *a, const void *b)
{
	td_ns x = *(const td_ns *)a;
	td_ns y = *(const td_ns *)b;

	return (x > y) - (x < y);
}

struct spread spread_of(td_ns *spans_ns, size_t count)
{
	qsort(spans_ns, count, sizeof(spans_ns[0]), compare);
	return (struct spread){
		.least_ns = spans_ns[0],
		.middle_ns = spans_ns[count / 2],
		.p99_ns = spans_ns[count * 99 / 100],
		.most_ns = spans_ns[count - 1],
	};
}
