/* SPDX-License-Identifier: MIT */
#include "daemon/mover/harden.h"

#include <errno.h>
#include <sched.h>
#include <string.h>
#include <sys/mman.h>

#if defined(__SANITIZE_ADDRESS__)
int td_harden_memory(struct td_error *err)
{
	(void)err;
	return 0;
}
#else
int td_harden_memory(struct td_error *err)
{
	if (mlockall(MCL_CURRENT | MCL_FUTURE) == 0)
		return 0;
	return td_error_set(err,
			    "cannot lock the memory (%s): a page fault may delay a stop; "
			    "allow it with LimitMEMLOCK=infinity in the unit",
			    strerror(errno));
}
#endif

int td_harden_priority(int priority, struct td_error *err)
{
	const struct sched_param wanted = {.sched_priority = priority};

	if (sched_setscheduler(0, SCHED_FIFO | SCHED_RESET_ON_FORK, &wanted) == 0)
		return 0;
	return td_error_set(err,
			    "no real-time priority (%s): other programs may delay a stop; "
			    "allow it with LimitRTPRIO=%d in the unit",
			    strerror(errno), priority);
}
