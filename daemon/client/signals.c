/* SPDX-License-Identifier: MIT */
#include "daemon/client/signals.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

int td_signals_open(struct td_error *err)
{
	static const int taken[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGTSTP, SIGWINCH};
	sigset_t set;

	(void)sigemptyset(&set);
	for (size_t i = 0; i < sizeof(taken) / sizeof(taken[0]); i++)
		(void)sigaddset(&set, taken[i]);
	/* The descriptor first: a signal that is blocked and never read would make ^C useless. */
	int fd = signalfd(-1, &set, SFD_CLOEXEC | SFD_NONBLOCK);
	if (fd < 0)
		return td_error_set(err, "cannot watch for signals: %s", strerror(errno));
	(void)sigprocmask(SIG_BLOCK, &set, NULL);
	return fd;
}

int td_signals_take(int fd)
{
	struct signalfd_siginfo info;

	return read(fd, &info, sizeof(info)) == (ssize_t)sizeof(info) ? (int)info.ssi_signo : 0;
}

void td_signals_suspend(void)
{
	(void)raise(SIGSTOP);
}

bool td_signals_wait(int a, int b, int c, td_ns timeout_ns)
{
	struct pollfd fds[] = {
		{.fd = a, .events = POLLIN}, {.fd = b, .events = POLLIN}, {.fd = c, .events = POLLIN}};
	struct timespec timeout = {.tv_sec = timeout_ns / TD_S(1), .tv_nsec = timeout_ns % TD_S(1)};

	return ppoll(fds, 3, timeout_ns == TD_NEVER ? NULL : &timeout, NULL) != 0;
}
