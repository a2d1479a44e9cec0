/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/trend.c, which the harness `trend` proves for any bytes: anything may come out. */
#include "core/trend.h"
#include "tests/proof/ub.h"

struct td_trend nondet_trend(void);

void td_trend_init(struct td_trend *trend)
{
	*trend = nondet_trend();
}

bool td_trend_sane(const struct td_trend *trend)
{
	(void)trend;
	return nondet_bool();
}

enum td_trend_news td_trend_travel(struct td_trend *trend, const struct td_trend_rules *rules, td_ns travel_ns)
{
	(void)rules;
	(void)travel_ns;
	*trend = nondet_trend();
	return (enum td_trend_news)nondet_word();
}

int32_t td_trend_slower_ppm(const struct td_trend *trend)
{
	(void)trend;
	return nondet_int();
}
