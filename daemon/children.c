/* SPDX-License-Identifier: MIT */
#include "daemon/children.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/guard/guard.h"
#include "daemon/guard/pulse.h"
#include "daemon/mover/harden.h"
#include "daemon/scribe/scribe.h"

#define LAST_WAIT_NS TD_S(1)

enum { FRONT_READY_MS = 5000 };

static void close_fd(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

/* --- guard: keeps the lines, drops everything else -------------------------------------------------- */

static void become_guard(const struct td_family *family, int pulse_fd, pid_t mover)
{
	struct td_error err;

	/* SIGTERM and SIGINT stay blocked: the mover ends first, the guard sees it out. */
	td_front_leave(family->front_start);
	close(family->signal_fd);
	if (td_harden_memory(&err) != 0 || td_harden_priority(TD_GUARD_PRIORITY, &err) != 0)
		fprintf(stderr, "<4>tripdogd: guard: %s\n", err.text);
	_exit((int)td_guard_run(family->lines, pulse_fd, mover));
}

static int make_guard(struct td_children *children, const struct td_family *family, struct td_error *err)
{
	int guard_fd = -1;
	pid_t mover = getpid();

	if (td_pulse_make(&children->pulse_fd, &guard_fd, err) != 0)
		return -1;
	fflush(NULL);
	children->guard = fork();
	if (children->guard == 0) {
		/* Our copy of the mover's end would hide the mover's death from us. */
		close_fd(&children->pulse_fd);
		become_guard(family, guard_fd, mover);
	}
	close_fd(&guard_fd);
	if (children->guard > 0)
		return 0;
	children->guard = 0;
	return td_error_set(err, "cannot fork the guard process: %s", strerror(errno));
}

/* --- scribe: drops everything but the shared memory --------------------------------------------------- */

static void become_scribe(struct td_children *children, const struct td_family *family, int life_fd)
{
	const struct td_scribe_setup setup = {
		.config = family->config,
		.text = family->text,
		.arming = &family->front_start->arming,
		.shared = family->shared,
		.life_fd = life_fd,
	};

	/* SIGTERM and SIGINT stay blocked: it writes what the mover leaves behind, then ends by itself. */
	family->lines->ops->abandon(family->lines);
	td_front_leave(family->front_start);
	close_fd(&children->pulse_fd);
	close(family->signal_fd);
	td_scribe_run(&setup);
	_exit(0);
}

static int make_scribe(struct td_children *children, const struct td_family *family, struct td_error *err)
{
	int life[2];

	if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, life) != 0)
		return td_error_set(err, "cannot make the scribe's life line: %s", strerror(errno));
	children->scribe_fd = life[0];
	fflush(NULL);
	children->scribe = fork();
	if (children->scribe == 0) {
		close_fd(&children->scribe_fd);
		become_scribe(children, family, life[1]);
	}
	close(life[1]);
	if (children->scribe > 0)
		return 0;
	children->scribe = 0;
	return td_error_set(err, "cannot fork the scribe process: %s", strerror(errno));
}

/* --- front: drops the lines -------------------------------------------------------------------------- */

static void become_front(struct td_children *children, const struct td_family *family, struct td_channel *own,
			 pid_t mover)
{
	sigset_t none;

	/* A front must not outlive its mover, even if the mover had no time to close anything. */
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	if (getppid() != mover || !td_shared_bar_front(family->shared))
		_exit(1);
	family->lines->ops->abandon(family->lines);
	td_channel_close(&children->front_end);
	close_fd(&children->pulse_fd);
	close_fd(&children->scribe_fd);
	close(family->signal_fd);
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	_exit(td_front_run(family->config, own->orders_fd, own->urgent_fd, family->front_start));
}

/* Until it serves clients; its end closes the pipe. */
static int wait_for_front(int fd, struct td_error *err)
{
	struct pollfd ready = {.fd = fd, .events = POLLIN};
	char byte;

	while (poll(&ready, 1, FRONT_READY_MS) < 0 && errno == EINTR)
		;
	if (ready.revents != 0 && read(fd, &byte, 1) == 1)
		return 0;
	return td_error_set(err, "the front process did not come up; its own lines say why");
}

static int make_front(struct td_children *children, const struct td_family *family, struct td_error *err)
{
	struct td_channel own;
	pid_t mover = getpid();
	int ready[2];

	if (td_channel_make(&children->front_end, &own, err) != 0)
		return -1;
	if (pipe2(ready, O_CLOEXEC) != 0) {
		td_channel_close(&own);
		return td_error_set(err, "cannot make a pipe to the front process: %s", strerror(errno));
	}
	fflush(NULL);
	children->front = fork();
	if (children->front == 0) {
		close(ready[0]);
		family->front_start->ready_fd = ready[1];
		become_front(children, family, &own, mover);
	}
	close(ready[1]);
	td_channel_close(&own);
	td_front_leave(family->front_start);
	if (children->front < 0)
		(void)td_error_set(err, "cannot fork the front process: %s", strerror(errno));
	int result = children->front > 0 ? wait_for_front(ready[0], err) : -1;

	close(ready[0]);
	if (children->front < 0)
		children->front = 0;
	return result;
}

int td_children_make(struct td_children *children, const struct td_family *family, struct td_error *err)
{
	*children = (struct td_children){.front_end = {-1, -1}, .pulse_fd = -1, .scribe_fd = -1};
	if (make_guard(children, family, err) != 0 || make_scribe(children, family, err) != 0)
		return -1;
	return make_front(children, family, err);
}

/* --- the end ----------------------------------------------------------------------------------------- */

static void reap(pid_t *pid)
{
	const struct timespec pause = {.tv_nsec = 2000000};
	td_ns until_ns = td_clock_now() + LAST_WAIT_NS;

	if (*pid <= 0)
		return;
	while (waitpid(*pid, NULL, WNOHANG) == 0) {
		if (td_clock_now() > until_ns) {
			kill(*pid, SIGKILL);
			waitpid(*pid, NULL, 0);
			break;
		}
		nanosleep(&pause, NULL);
	}
	*pid = 0;
}

void td_children_kill(pid_t pid)
{
	if (pid > 0)
		(void)kill(pid, SIGKILL);
}

void td_children_end(struct td_children *children)
{
	td_channel_close(&children->front_end);
	close_fd(&children->pulse_fd);
	close_fd(&children->scribe_fd);
	reap(&children->front);
	reap(&children->scribe);
	reap(&children->guard);
}
