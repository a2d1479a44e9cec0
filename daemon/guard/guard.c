/* SPDX-License-Identifier: MIT */
#include "daemon/guard/guard.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/guard/pulse.h"

struct guard {
	struct td_lines *lines;
	int pulse_fd;
	pid_t mover;
	uint32_t outputs; /* as last heard */
	td_ns heard_ns;
};

/* After the lines are clear; write() because nothing may be allocated or locked here. */
static void say(const char *sentence)
{
	ssize_t written = write(STDERR_FILENO, sentence, strlen(sentence));

	(void)written;
}

/* Clears first, asks and tells later. */
static enum td_guard_end act(const struct guard *guard, const char *why)
{
	int cleared = td_lines_all_low(guard->lines);

	kill(guard->mover, SIGKILL);
	say(why);
	if (cleared == 0)
		return TD_GUARD_ACTED;
	say("<2>tripdogd: guard: THE OUTPUTS COULD NOT BE CLEARED; cut the motor supply\n");
	return TD_GUARD_BLIND;
}

static enum td_guard_end mover_gone(const struct guard *guard)
{
	if (guard->outputs == 0) {
		/* It ended in order; clearing once more costs nothing. */
		(void)td_lines_all_low(guard->lines);
		return TD_GUARD_DONE;
	}
	return act(guard, "<3>tripdogd: guard: the mover is gone; outputs cleared\n");
}

/* Everything that has been sent; false once the other end is closed. */
static bool listen_to(struct guard *guard)
{
	for (;;) {
		switch (td_pulse_take(guard->pulse_fd, &guard->outputs)) {
		case TD_PULSE_GOT: guard->heard_ns = td_clock_now(); break;
		case TD_PULSE_NONE: return true;
		case TD_PULSE_GONE:
		default: return false;
		}
	}
}

static int wait_for_pulse(const struct guard *guard)
{
	struct pollfd poll_fd = {.fd = guard->pulse_fd, .events = POLLIN};
	td_ns until_ns = td_time_after(guard->heard_ns, TD_GUARD_SILENCE_NS);
	struct timespec span = td_clock_span(td_time_between(td_clock_now(), until_ns));
	int ready = ppoll(&poll_fd, 1, guard->outputs != 0 ? &span : NULL, NULL);

	return ready < 0 && errno != EINTR ? -1 : 0;
}

enum td_guard_end td_guard_run(struct td_lines *lines, int pulse_fd, pid_t mover)
{
	struct guard guard = {
		.lines = lines, .pulse_fd = pulse_fd, .mover = mover, .heard_ns = td_clock_now()};

	for (;;) {
		if (wait_for_pulse(&guard) != 0) {
			(void)act(&guard, "<3>tripdogd: guard: cannot wait; outputs cleared\n");
			return TD_GUARD_BLIND;
		}
		if (!listen_to(&guard))
			return mover_gone(&guard);
		if (guard.outputs != 0 && td_clock_now() - guard.heard_ns >= TD_GUARD_SILENCE_NS)
			return act(
				&guard,
				"<3>tripdogd: guard: the mover is silent; outputs cleared, mover killed\n");
	}
}
