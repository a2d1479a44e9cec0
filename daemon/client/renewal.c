/* SPDX-License-Identifier: MIT */
#include "daemon/client/renewal.h"

#include <stdbool.h>

struct td_renewal td_renewal_of(td_ns lease_ns)
{
	return (struct td_renewal){.period_ns = lease_ns / TD_RENEWALS_PER_LEASE};
}

void td_renewal_sent(struct td_renewal *renewal, int64_t id, td_ns now_ns)
{
	renewal->sent_ns = now_ns;
	renewal->due_ns = td_time_after(now_ns, renewal->period_ns);
	renewal->underway[renewal->next] = id;
	renewal->next = (renewal->next + 1) % TD_RENEWALS_UNDERWAY;
}

void td_renewal_answered(struct td_renewal *renewal, int64_t id, td_ns now_ns)
{
	bool own = false;
	bool others = false;

	for (unsigned int i = 0; i < TD_RENEWALS_UNDERWAY; i++) {
		own = own || renewal->underway[i] == id;
		if (renewal->underway[i] == id)
			renewal->underway[i] = 0;
		others = others || renewal->underway[i] != 0;
	}
	td_ns soonest_ns = td_time_after(renewal->sent_ns, renewal->period_ns / 2);

	if (own && others)
		renewal->due_ns = td_time_earlier(renewal->due_ns, now_ns > soonest_ns ? now_ns : soonest_ns);
}
