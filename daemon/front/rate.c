/* SPDX-License-Identifier: MIT */
#include "daemon/front/rate.h"

struct td_rate td_rate_of(td_ns every_ns, unsigned int burst)
{
	return (struct td_rate){.every_ns = every_ns, .burst_ns = every_ns * (td_ns)burst, .full_ns = 0};
}

td_ns td_rate_wait(const struct td_rate *rate, td_ns now_ns)
{
	td_ns owed = td_time_between(now_ns, rate->full_ns);

	return td_time_between(rate->burst_ns, td_time_after(owed, rate->every_ns));
}

bool td_rate_take(struct td_rate *rate, td_ns now_ns)
{
	if (td_rate_wait(rate, now_ns) > 0)
		return false;
	td_ns from_ns = rate->full_ns > now_ns ? rate->full_ns : now_ns;

	rate->full_ns = td_time_after(from_ns, rate->every_ns);
	return true;
}

bool td_rate_charge(struct td_rate *rate, td_ns now_ns)
{
	bool within = td_rate_wait(rate, now_ns) == 0;
	td_ns owed_ns = td_time_after(td_time_between(now_ns, rate->full_ns), rate->every_ns);
	td_ns most_ns = 2 * rate->burst_ns;

	rate->full_ns = td_time_after(now_ns, owed_ns < most_ns ? owed_ns : most_ns);
	return within;
}
