/* SPDX-License-Identifier: MIT */
/* Quiet hours are of the wall clock, in local time; nothing else here looks at it. */
#include <time.h>

#include "config/quiet.h"
#include "daemon/front/inside.h"

bool td_front_quiet(const struct td_front *front)
{
	time_t now = time(NULL);
	struct tm local;

	if (front->config->quiet.count == 0 || !localtime_r(&now, &local))
		return false;
	return td_quiet_at(&front->config->quiet, local.tm_wday, local.tm_hour * 60 + local.tm_min);
}

static void stop_what_is_loud(struct td_front *front)
{
	for (uint8_t axis = 0; axis < front->config->axes; axis++) {
		struct td_order stop = {.kind = TD_EVENT_STOP,
					.axis = axis,
					.way = TD_NO_WAY,
					.role = TD_ROLE_KEEPER,
					.heard_ns = td_clock_now()};

		if (front->config->axis[axis].loud)
			td_outbox_send(&front->urgent, &stop);
	}
}

void td_front_quiet_tend(struct td_front *front)
{
	bool quiet = td_front_quiet(front);

	if (quiet && !front->quiet)
		stop_what_is_loud(front);
	if (quiet != front->quiet)
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_NOTICE, "quiet hours %s",
			       quiet ? "begin: what is loud stands still" : "are over");
	front->quiet = quiet;
}
