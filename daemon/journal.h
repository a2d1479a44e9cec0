/* SPDX-License-Identifier: MIT */
/*
 * Log lines on standard error, each begun with its priority as "<N>" (syslog's numbers, which service
 * managers read there). Rate limited, so that nobody fills a disk by knocking; what was left out is counted
 * and said.
 */
#ifndef TD_DAEMON_JOURNAL_H
#define TD_DAEMON_JOURNAL_H

#include "core/time.h"
#include "daemon/front/rate.h"

enum td_priority {
	TD_PRIORITY_ERROR = 3,
	TD_PRIORITY_WARNING = 4,
	TD_PRIORITY_NOTICE = 5,
	TD_PRIORITY_INFO = 6,
};

struct td_journal {
	int fd;
	struct td_rate rate;
	unsigned int left_out;
};

/* `lines` at once, then that many a minute. */
struct td_journal td_journal_of(int fd, unsigned int lines);

/* One line, in one write. A line that cannot be written is lost. */
void td_journal_say(struct td_journal *journal, td_ns now_ns, enum td_priority priority, const char *format,
		    ...) __attribute__((format(printf, 4, 5)));

#endif
