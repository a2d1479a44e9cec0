/* SPDX-License-Identifier: MIT */
#include "daemon/mover/reload.h"

#include <errno.h>
#include <signal.h>
#include <spawn.h>
#include <string.h>
#include <sys/pidfd.h>
#include <sys/wait.h>
#include <unistd.h>

/* No formatting: the mover has no heap. */
static void say(const char *sentence)
{
	ssize_t written = write(STDERR_FILENO, sentence, strlen(sentence));

	(void)written;
}

void td_reload_init(struct td_reload *reload, char *const *check)
{
	*reload = (struct td_reload){.check = check, .fd = -1};
}

/* The checker must be able to be ended; ours are blocked. */
static int spawn(pid_t *pid, char *const *argv)
{
	posix_spawnattr_t attributes;
	sigset_t none;

	sigemptyset(&none);
	int result = posix_spawnattr_init(&attributes);

	if (result != 0)
		return result;
	(void)posix_spawnattr_setsigmask(&attributes, &none);
	(void)posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
	result = posix_spawn(pid, argv[0], NULL, &attributes, argv, environ);
	(void)posix_spawnattr_destroy(&attributes);
	return result;
}

bool td_reload_begin(struct td_reload *reload, td_ns now_ns)
{
	if (reload->fd >= 0)
		return true;
	if (!reload->check || spawn(&reload->pid, reload->check) != 0) {
		say("<3>tripdogd: the new configuration cannot be checked: no process can be started; the "
		    "old one stays in "
		    "force\n");
		return false;
	}
	reload->fd = pidfd_open(reload->pid, 0);
	reload->until_ns = td_time_after(now_ns, TD_RELOAD_CHECK_NS);
	if (reload->fd >= 0)
		return true;
	(void)kill(reload->pid, SIGKILL);
	(void)waitpid(reload->pid, NULL, 0);
	say("<3>tripdogd: the new configuration cannot be checked: a process cannot be waited for; the old "
	    "one stays in force\n");
	return false;
}

td_ns td_reload_due(const struct td_reload *reload)
{
	return reload->fd >= 0 ? reload->until_ns : TD_NEVER;
}

void td_reload_end(struct td_reload *reload)
{
	if (reload->fd < 0)
		return;
	(void)kill(reload->pid, SIGKILL);
	(void)waitpid(reload->pid, NULL,
		      WNOHANG); /* it may hang in the kernel; whoever ends us takes it along */
	close(reload->fd);
	reload->fd = -1;
}

enum td_reload_verdict td_reload_verdict(struct td_reload *reload, td_ns now_ns)
{
	int status = 0;

	if (reload->fd < 0)
		return TD_RELOAD_WAITS;
	pid_t ended = waitpid(reload->pid, &status, WNOHANG);

	if (ended == 0 && now_ns < reload->until_ns)
		return TD_RELOAD_WAITS;
	if (ended == 0)
		td_reload_end(reload);
	else
		close(reload->fd);
	reload->fd = -1;
	if (ended == reload->pid && WIFEXITED(status) && WEXITSTATUS(status) == 0)
		return TD_RELOAD_GOOD;
	say("<3>tripdogd: the new configuration was refused; the old one stays in force\n");
	return TD_RELOAD_BAD;
}
