/* SPDX-License-Identifier: MIT */
/*
 * tripdogd: the start, as one visible list, and its mirror image.
 *
 *   configuration -> state -> sockets -> lines (all low) -> pairs -> front -> hardening -> mover
 */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <sys/wait.h>
#include <unistd.h>

#include "config/config.h"
#include "config/explain.h"
#include "daemon/channel.h"
#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "daemon/front.h"
#include "daemon/mover/harden.h"
#include "daemon/mover/mover.h"
#include "daemon/options.h"
#include "daemon/state.h"
#include "lines/lines.h"

enum { FRONT_WAIT_MS = 1000 };

struct service {
	struct td_config config;
	struct td_front_start front_start;
	struct td_lines *lines;
	struct td_channel mover_end;
	struct td_channel front_end;
	int signal_fd;
	pid_t front;
	struct td_mover mover;
};

/* Everything the mover touches is in one block that is locked and never moves. */
static struct service service;

static int complain(enum td_exit code, const char *sentence)
{
	fprintf(stderr, "<3>tripdogd: %s\n", sentence);
	return (int)code;
}

static void warn(const char *sentence)
{
	fprintf(stderr, "<4>tripdogd: %s\n", sentence);
}

static bool read_config(const char *path, struct td_config *config)
{
	static struct td_config_faults faults;
	bool good = td_config_read(path, config, &faults);

	for (size_t i = 0; i < faults.count && i < TD_FAULTS_MAX; i++)
		fprintf(stderr, "%s\n", faults.fault[i].text);
	if (faults.count > TD_FAULTS_MAX)
		fprintf(stderr, "%s: %zu more\n", path, faults.count - TD_FAULTS_MAX);
	return good;
}

static int check_config(const char *path)
{
	if (!read_config(path, &service.config))
		return TD_EXIT_CONFIG;
	printf("%s: no faults: %u axes, %u switches\n", path, service.config.axes, service.config.switches);
	return TD_EXIT_OK;
}

static uint32_t low_bits(unsigned int count)
{
	return count >= 32 ? UINT32_MAX : (UINT32_C(1) << count) - 1;
}

static int open_lines(struct service *self, struct td_error *err)
{
	const struct td_config *config = &self->config;

	if (config->backend != TD_BACKEND_BENCH)
		return td_error_set(err, "backend = gpio: this build has no GPIO backend; use backend = bench");
	self->lines = td_lines_bench_open(config->board, low_bits(config->axes * 2U), low_bits(config->switches), err);
	return self->lines ? 0 : -1;
}

/* Blocked before any process is made, so that a signal at start is not lost; the front unblocks its own. */
static int block_signals(struct service *self, struct td_error *err)
{
	sigset_t set;

	sigemptyset(&set);
	sigaddset(&set, SIGTERM);
	sigaddset(&set, SIGINT);
	sigprocmask(SIG_BLOCK, &set, NULL);
	signal(SIGPIPE, SIG_IGN);
	self->signal_fd = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
	return self->signal_fd >= 0 ? 0 : td_error_set(err, "cannot watch for signals: %s", strerror(errno));
}

static void become_front(struct service *self, pid_t parent)
{
	sigset_t none;

	/* A front must not outlive its mover, even if the mover had no time to close anything. */
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	if (getppid() != parent)
		_exit(TD_EXIT_INTERNAL);
	self->lines->ops->abandon(self->lines);
	td_channel_close(&self->mover_end);
	close(self->signal_fd);
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	_exit(td_front_run(&self->config, self->front_end.orders_fd, self->front_end.urgent_fd, &self->front_start));
}

static int fork_front(struct service *self, struct td_error *err)
{
	pid_t parent = getpid();

	fflush(NULL);
	self->front = fork();
	if (self->front == 0)
		become_front(self, parent);
	if (self->front < 0)
		return td_error_set(err, "cannot fork the front process: %s", strerror(errno));
	td_channel_close(&self->front_end);
	td_front_leave(&self->front_start);
	return 0;
}

/* The closed pairs tell the front to go; one that does not is killed. */
static void reap_front(struct service *self)
{
	const struct timespec pause = { .tv_nsec = 5000000 };
	td_ns until_ns = td_clock_now() + TD_MS(FRONT_WAIT_MS);

	if (self->front <= 0)
		return;
	while (waitpid(self->front, NULL, WNOHANG) == 0) {
		if (td_clock_now() > until_ns) {
			kill(self->front, SIGKILL);
			waitpid(self->front, NULL, 0);
			break;
		}
		nanosleep(&pause, NULL);
	}
	self->front = 0;
}

static void harden(void)
{
	struct td_error err;

	if (td_harden_memory(&err) != 0)
		warn(err.text);
	if (td_harden_priority(&err) != 0)
		warn(err.text);
}

static void load_state(struct service *self)
{
	struct td_state state = { .latched = true };
	struct td_error err;

	if (td_state_load(self->config.state_dir, &state, &err) != 0)
		warn(err.text);
	self->front_start.latched = state.latched;
}

static int run_mover(struct service *self)
{
	const struct td_mover_setup setup = {
		.rules = &self->config.rules,
		.lines = self->lines,
		.channel = self->mover_end,
		.signal_fd = self->signal_fd,
		.poll_ns = self->config.poll_ns,
		.latched = self->front_start.latched,
	};

	switch (td_mover_run(&self->mover, &setup)) {
	case TD_MOVER_ASKED:
		fprintf(stderr, "<6>tripdogd: asked to end; outputs low\n");
		return TD_EXIT_OK;
	case TD_MOVER_FRONT_GONE:
		return complain(TD_EXIT_FRONT, "the front process is gone; outputs low, ending");
	case TD_MOVER_LINES_LOST:
		return complain(TD_EXIT_LINES, "the lines are lost; outputs cleared as far as they can be reached, ending");
	case TD_MOVER_CANNOT_WAIT:
	default:
		return complain(TD_EXIT_INTERNAL, "the kernel refused to wait; outputs low, ending");
	}
}

/* Lines are had; from here on every way out clears them first. */
static int serve(struct service *self)
{
	struct td_error err;
	int code = TD_EXIT_START;

	if (block_signals(self, &err) != 0 || td_channel_make(&self->mover_end, &self->front_end, &err) != 0 ||
	    fork_front(self, &err) != 0) {
		complain(TD_EXIT_START, err.text);
	} else {
		harden();
		fprintf(stderr, "<6>tripdogd %s: %s: ready on the %s, %u axes, %u switches\n", TD_VERSION,
		        self->config.machine, self->config.backend == TD_BACKEND_BENCH ? "bench" : "lines",
		        self->config.axes, self->config.switches);
		code = run_mover(self);
	}
	self->lines->ops->close(self->lines);
	td_channel_close(&self->mover_end);
	td_channel_close(&self->front_end);
	reap_front(self);
	return code;
}

static int run(const char *path)
{
	struct service *self = &service;
	struct td_error err;

	if (!read_config(path, &self->config))
		return TD_EXIT_CONFIG;
	if (td_front_listen(&self->config, &self->front_start, &err) != 0)
		return complain(TD_EXIT_START, err.text);
	load_state(self);
	if (open_lines(self, &err) != 0) {
		td_front_leave(&self->front_start);
		return complain(TD_EXIT_LINES, err.text);
	}
	int code = serve(self);

	td_front_leave(&self->front_start);
	return code;
}

int main(int argc, char **argv)
{
	struct td_options options;
	struct td_error err;

	if (td_options_parse(argc, argv, &options, &err) != 0)
		return complain(TD_EXIT_USAGE, err.text);
	switch (options.mode) {
	case TD_MODE_HELP:
		td_options_help(stdout);
		return TD_EXIT_OK;
	case TD_MODE_VERSION:
		puts("tripdogd " TD_VERSION);
		return TD_EXIT_OK;
	case TD_MODE_EXPLAIN:
		td_config_explain(stdout);
		return TD_EXIT_OK;
	case TD_MODE_EXPLAIN_MDOC:
		td_config_explain_mdoc(stdout);
		return TD_EXIT_OK;
	case TD_MODE_CHECK:
		return check_config(options.config);
	case TD_MODE_RUN:
	default:
		return run(options.config);
	}
}
