/* SPDX-License-Identifier: MIT */
#include "core/trend.h"

#include <string.h>

enum { PPM = 1000000 };

bool td_trend_rules_ok(const struct td_trend_rules *rules)
{
	return rules->slower_ppm <= TD_TREND_SLOWER_MAX_PPM && rules->steady_ppm <= rules->slower_ppm &&
	       rules->needed <= TD_TREND_NEEDED_MAX;
}

void td_trend_init(struct td_trend *trend)
{
	memset(trend, 0, sizeof(*trend));
}

static bool travel_ok(td_ns travel_ns)
{
	return travel_ns >= TD_TREND_TRAVEL_MIN_NS && travel_ns <= TD_TREND_TRAVEL_MAX_NS;
}

static bool zero_or_travel(td_ns travel_ns)
{
	return travel_ns == 0 || travel_ok(travel_ns);
}

bool td_trend_sane(const struct td_trend *trend)
{
	if (trend->learned > TD_TREND_LEARN || trend->warned > 1 || trend->slow > TD_TREND_NEEDED_MAX ||
	    !zero_or_travel(trend->last_ns[0]) || !zero_or_travel(trend->last_ns[1]))
		return false;
	return trend->learned == 0 ? trend->learned_ns == 0 && trend->recent_ns == 0
				   : travel_ok(trend->learned_ns) && travel_ok(trend->recent_ns);
}

/* The middle one of the last three; 0 while there are fewer. */
static td_ns middle(struct td_trend *trend, td_ns travel_ns)
{
	td_ns a = trend->last_ns[0];
	td_ns b = trend->last_ns[1];
	td_ns low = a < b ? a : b;
	td_ns high = a < b ? b : a;

	trend->last_ns[0] = b;
	trend->last_ns[1] = travel_ns;
	if (low == 0)
		return 0;
	if (travel_ns <= low)
		return low;
	return travel_ns < high ? travel_ns : high;
}

/* mean + (value - mean) / count, rounded towards the mean. */
static td_ns nearer(td_ns mean_ns, td_ns value_ns, td_ns count)
{
	return mean_ns + (value_ns - mean_ns) / count;
}

static enum td_trend_news learn(struct td_trend *trend, td_ns value_ns)
{
	trend->learned++;
	trend->learned_ns =
		trend->learned == 1 ? value_ns : nearer(trend->learned_ns, value_ns, trend->learned);
	trend->recent_ns = trend->learned_ns;
	return trend->learned == TD_TREND_LEARN ? TD_TREND_LEARNED : TD_TREND_NOTHING;
}

/* At most 6e9 microseconds x 1.1e7. */
static bool beyond(const struct td_trend *trend, uint32_t share_ppm)
{
	return trend->recent_ns / 1000 * PPM > trend->learned_ns / 1000 * (PPM + (td_ns)share_ppm);
}

static enum td_trend_news judge(struct td_trend *trend, const struct td_trend_rules *rules)
{
	if (!beyond(trend, rules->slower_ppm))
		trend->slow = 0;
	else if (trend->slow < rules->needed)
		trend->slow++;
	if (trend->warned == 0 && trend->slow > 0 && trend->slow >= rules->needed) {
		trend->warned = 1;
		return TD_TREND_SLOWER;
	}
	if (trend->warned == 1 && !beyond(trend, rules->steady_ppm)) {
		trend->warned = 0;
		return TD_TREND_RECOVERED;
	}
	return TD_TREND_NOTHING;
}

enum td_trend_news td_trend_travel(struct td_trend *trend, const struct td_trend_rules *rules,
				   td_ns travel_ns)
{
	if (!td_trend_sane(trend))
		td_trend_init(trend);
	if (!travel_ok(travel_ns) || !td_trend_rules_ok(rules))
		return TD_TREND_NOTHING;
	td_ns value_ns = middle(trend, travel_ns);

	if (value_ns == 0)
		return TD_TREND_NOTHING;
	if (trend->learned < TD_TREND_LEARN)
		return learn(trend, value_ns);
	trend->recent_ns = nearer(trend->recent_ns, value_ns, 4);
	return judge(trend, rules);
}

int32_t td_trend_slower_ppm(const struct td_trend *trend)
{
	if (!td_trend_sane(trend) || trend->learned < TD_TREND_LEARN)
		return 0;
	td_ns slower_ppm = (trend->recent_ns - trend->learned_ns) / 1000 * PPM / (trend->learned_ns / 1000);

	return slower_ppm < INT32_MAX ? (int32_t)slower_ppm : INT32_MAX;
}
