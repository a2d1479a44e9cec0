/* SPDX-License-Identifier: MIT */
#include "sim/child.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { EXEC_FAILED = 127, END_WAIT_MS = 3000 };

static void become(const char *const argv[], const char *log)
{
	int in = open("/dev/null", O_RDONLY | O_CLOEXEC);
	int out = open(log, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
	char *words[32];
	size_t count = 0;

	prctl(PR_SET_PDEATHSIG, SIGKILL);
	if (in < 0 || out < 0 || dup2(in, 0) < 0 || dup2(out, 1) < 0 || dup2(out, 2) < 0)
		_exit(EXEC_FAILED);
	for (; argv[count] && count + 1 < sizeof(words) / sizeof(words[0]); count++)
		words[count] = strdup(argv[count]);
	words[count] = NULL;
	execv(words[0], words);
	_exit(EXEC_FAILED);
}

pid_t td_child_start(const char *const argv[], const char *log, struct td_error *err)
{
	if (access(argv[0], X_OK) != 0)
		return td_error_set(err, "%s: %s; is it built?", argv[0], strerror(errno));
	pid_t pid = fork();

	if (pid == 0)
		become(argv, log);
	if (pid < 0)
		return td_error_set(err, "cannot start %s: %s", argv[0], strerror(errno));
	return pid;
}

static int exit_code(int status)
{
	return WIFEXITED(status) ? WEXITSTATUS(status) : 256 + WTERMSIG(status);
}

int td_child_wait(pid_t pid, td_ns timeout_ns)
{
	const struct timespec pause = {.tv_nsec = 1000000};
	td_ns until_ns = td_time_after(td_clock_now(), timeout_ns);
	int status = 0;

	for (;;) {
		pid_t got = waitpid(pid, &status, WNOHANG);

		if (got == pid)
			return exit_code(status);
		if (got < 0 || td_clock_now() >= until_ns)
			return -1;
		nanosleep(&pause, NULL);
	}
}

int td_child_end(pid_t pid)
{
	if (pid <= 0)
		return -1;
	kill(pid, SIGTERM);
	int code = td_child_wait(pid, TD_MS(END_WAIT_MS));

	if (code >= 0)
		return code;
	kill(pid, SIGKILL);
	return td_child_wait(pid, TD_MS(END_WAIT_MS));
}
