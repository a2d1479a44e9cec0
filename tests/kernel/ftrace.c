/* SPDX-License-Identifier: MIT */
#include "tests/kernel/ftrace.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/kernel/sim.h"

#define TRACING "/sys/kernel/tracing/"

void ftrace_start(void)
{
	sim_write(TRACING "tracing_on", "0");
	sim_write(TRACING "trace_clock", "mono");
	sim_write(TRACING "events/gpio/gpio_value/enable", "1");
	sim_write(TRACING "trace", "");
	sim_write(TRACING "tracing_on", "1");
}

static _Noreturn void give_up(const char *why)
{
	(void)printf("Bail out! the kernel's trace: %s\n", why);
	(void)fflush(stdout);
	_exit(1);
}

/* A number up to `end`, which must follow it. */
static unsigned long number(const char **text, char end)
{
	char *after;
	unsigned long value = strtoul(*text, &after, 10);

	if (after == *text || *after != end)
		give_up("a line that cannot be read");
	*text = after + 1;
	return value;
}

/* "  name-123  [000] .....    12.345678: gpio_value: 512 set 1" */
static bool parse(const char *line, struct ftrace_write *write)
{
	static const char marker[] = ": gpio_value: ";
	const char *event = strstr(line, marker);
	const char *stamp = event;

	if (!event)
		return false;
	while (stamp > line && stamp[-1] != ' ')
		stamp--;
	write->at_ns = TD_S(number(&stamp, '.'));
	write->at_ns += TD_US(number(&stamp, ':'));
	event += sizeof(marker) - 1;
	write->line = (unsigned)number(&event, ' ');
	if (strncmp(event, "set ", 4) != 0)
		return false;
	write->high = event[4] == '1';
	return true;
}

size_t ftrace_stop(struct ftrace_write *writes, size_t max)
{
	char line[256];
	size_t count = 0;

	sim_write(TRACING "tracing_on", "0");
	FILE *trace = fopen(TRACING "trace", "re");

	if (!trace)
		give_up("cannot be opened");
	/* cppcheck-suppress nullPointerRedundantCheck ; give_up() does not return */
	while (fgets(line, sizeof(line), trace)) {
		struct ftrace_write write;

		if (strstr(line, "LOST"))
			give_up("events were lost");
		if (!parse(line, &write))
			continue;
		if (count == max)
			give_up("more events than room");
		writes[count++] = write;
	}
	(void)fclose(trace);
	return count;
}

td_ns ftrace_find(const struct ftrace_write *writes, size_t count, unsigned line, bool high, td_ns from_ns)
{
	for (size_t i = 0; i < count; i++) /* stamps are cut to whole microseconds */
		if (writes[i].line == line && writes[i].high == high && writes[i].at_ns >= from_ns - TD_US(1))
			return writes[i].at_ns;
	return -1;
}
