/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "daemon/scribe/archive_parts.h"

bool td_trouble_lets(const struct td_trouble *trouble, td_ns now_ns)
{
	return !trouble->there || now_ns >= trouble->next_ns;
}

int td_trouble_met(struct td_trouble *trouble, td_ns now_ns, const char *what, const char *why)
{
	if (!trouble->there)
		fprintf(stderr,
			"<3>tripdogd: %s: %s; traces are missing until this works again: make room on the "
			"disk, "
			"or let the daemon's user write there\n",
			what, why ? why : strerror(errno));
	trouble->wait_ns = trouble->there ? 2 * trouble->wait_ns : TD_TROUBLE_FIRST_NS;
	if (trouble->wait_ns > TD_TROUBLE_MOST_NS)
		trouble->wait_ns = TD_TROUBLE_MOST_NS;
	trouble->there = true;
	trouble->next_ns = td_time_after(now_ns, trouble->wait_ns);
	return -1;
}

void td_trouble_over(struct td_trouble *trouble, const char *what)
{
	if (trouble->there)
		fprintf(stderr, "<6>tripdogd: %s: traces are written again\n", what);
	*trouble = (struct td_trouble){0};
}
