/* SPDX-License-Identifier: MIT */
#include "daemon/journal.h"

#include <stdarg.h>
#include <stdio.h>
#include <unistd.h>

enum { JOURNAL_LINE_MAX = 1024 };

struct td_journal td_journal_of(int fd, unsigned int lines)
{
	return (struct td_journal){.fd = fd, .rate = td_rate_of(TD_S(60) / (td_ns)lines, lines)};
}

static void put(const struct td_journal *journal, const char *line, size_t length)
{
	if (write(journal->fd, line, length) < 0) {
		/* Nobody is left to be told. */
		return;
	}
}

static void say_left_out(struct td_journal *journal)
{
	char line[64];
	int length = snprintf(line, sizeof(line), "<%d>%u log lines were left out\n", TD_PRIORITY_WARNING,
			      journal->left_out);

	journal->left_out = 0;
	put(journal, line, (size_t)length);
}

void td_journal_say(struct td_journal *journal, td_ns now_ns, enum td_priority priority, const char *format,
		    ...)
{
	char line[JOURNAL_LINE_MAX];
	va_list args;

	if (!td_rate_take(&journal->rate, now_ns)) {
		journal->left_out++;
		return;
	}
	if (journal->left_out > 0)
		say_left_out(journal);
	int start = snprintf(line, sizeof(line), "<%d>", (int)priority);

	va_start(args, format);
	int length = vsnprintf(line + start, sizeof(line) - (size_t)start - 1, format, args);
	va_end(args);
	if (length < 0)
		return;
	size_t end = (size_t)start + (size_t)length;

	if (end > sizeof(line) - 2)
		end = sizeof(line) - 2;
	line[end] = '\n';
	put(journal, line, end + 1);
}
