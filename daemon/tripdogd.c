/* SPDX-License-Identifier: MIT */
/*
 * tripdogd: the start, as one visible list, and its mirror image.
 *
 *   signals -> configuration -> are the chips there? -> sockets -> state -> lines (all low) -> may it be armed? -> guard ->
 *   scribe -> front -> hardening -> mover, whose first whole cycle says READY
 */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "config/config.h"
#include "core/record.h"
#include "daemon/await.h"
#include "daemon/board_lines.h"
#include "daemon/children.h"
#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "daemon/explain.h"
#include "daemon/front/front.h"
#include "daemon/mover/harden.h"
#include "daemon/mover/mover.h"
#include "daemon/notify.h"
#include "daemon/options.h"
#include "daemon/restart.h"
#include "daemon/scribe/record_file.h"
#include "daemon/state.h"
#include "daemon/test_faults.h"

struct service {
	struct td_config config;
	const char *config_file;
	const char *sysfs; /* NULL = where it always is */
	struct td_front_start front_start;
	struct td_lines *lines;
	struct td_children children;
	struct td_notify notify;
	struct td_restart restart;
	bool anew; /* it ends to start itself anew */
	int signal_fd;
	struct td_shared shared;
	struct td_config_text text; /* of the configuration */
	struct td_keep kept;
	td_ns kept_ns;
	struct td_error unkept; /* why nothing can be kept; "" = it can */
	struct td_mover mover;
};

/* Everything the mover touches is in one block that is locked and never moves. */
static struct service service = {.signal_fd = -1, .front_start = {{-1, -1}, {-1, -1}, .latched = true}};

static int complain(enum td_exit code, const char *sentence)
{
	fprintf(stderr, "<3>tripdogd: %s\n", sentence);
	return (int)code;
}

static void warn(const char *sentence)
{
	fprintf(stderr, "<4>tripdogd: %s\n", sentence);
}

/* What depends on this system and not on the file alone. */
static bool fits_system(const struct service *self, const char *path)
{
	struct td_error err;
	bool good = true;

	if (td_front_check_group(&self->config.keeper, &err) != 0) {
		fprintf(stderr, "%s: [keeper] group: %s\n", path, err.text);
		good = false;
	}
	if (td_front_check_group(&self->config.visitor, &err) != 0) {
		fprintf(stderr, "%s: [visitor] group: %s\n", path, err.text);
		good = false;
	}
	return good;
}

static bool read_config(struct service *self, const char *path)
{
	static struct td_config_faults faults;
	bool good = td_config_read_kept(path, &self->config, &faults, &self->text);

	self->config_file = path;
	for (size_t i = 0; i < faults.count && i < TD_FAULTS_MAX; i++)
		fprintf(stderr, "%s\n", faults.fault[i].text);
	if (faults.count > TD_FAULTS_MAX)
		fprintf(stderr, "%s: %zu more\n", path, faults.count - TD_FAULTS_MAX);
	return good;
}

static int check_config(struct service *self, const char *path)
{
	if (!read_config(self, path) || !fits_system(self, path))
		return TD_EXIT_CONFIG;
	printf("%s: no faults: %u axes, %u switches\n", path, self->config.axes, self->config.switches);
	return TD_EXIT_OK;
}

static int clear_lines(struct service *self, const char *path)
{
	struct td_error err = {""};

	if (access(path, F_OK) != 0 && errno == ENOENT) {
		fprintf(stderr,
			"<4>tripdogd: %s: not there, so which lines to clear is not known; if a motor may "
			"have "
			"run before, cut the motor supply by hand\n",
			path);
		return TD_EXIT_CONFIG;
	}
	if (!read_config(self, path))
		return complain(TD_EXIT_CONFIG,
				"which lines to clear is not known; cut the motor supply by hand");
	unsigned left = td_board_lines_clear(&self->config, path, &err);

	if (left > 0) {
		fprintf(stderr, "<3>tripdogd: %u outputs could not be cleared: %s\n", left, err.text);
		return TD_EXIT_NOT_CLEARED;
	}
	fprintf(stderr, "<6>tripdogd: every output is low\n");
	return TD_EXIT_OK;
}

/* Blocked before anything else, so that a signal at the start is not lost; the front unblocks its own. */
static int block_signals(struct service *self, struct td_error *err)
{
	sigset_t set;

	sigemptyset(&set);
	sigaddset(&set, SIGTERM);
	sigaddset(&set, SIGINT);
	sigaddset(&set, SIGHUP);
	sigprocmask(SIG_BLOCK, &set, NULL);
	signal(SIGPIPE, SIG_IGN);
	self->signal_fd = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
	return self->signal_fd >= 0 ? 0 : td_error_set(err, "cannot watch for signals: %s", strerror(errno));
}

static void harden(void)
{
	struct td_error err;

	if (td_harden_memory(&err) != 0)
		warn(err.text);
	if (td_harden_priority(TD_MOVER_PRIORITY, &err) != 0)
		warn(err.text);
}

/* From here on the record on the disk says that an end without notice is possible. */
static void open_record(struct service *self)
{
	static struct td_core core;
	static struct td_keep open;
	static struct td_shelf_record record;
	struct td_error err;
	td_ns now_ns = td_clock_now();

	td_core_init(&core, &self->config.rules, now_ns);
	td_record_restore(&core, &self->config.rules, &self->kept, self->kept_ns);
	td_record_take(&core, &self->config.rules, false, now_ns, &open);
	open.latched = self->front_start.latched;
	open.locked = self->kept.locked;
	td_keep_take(&open, td_record_machine(&self->config), now_ns, record.bytes);
	record.taken_ns = now_ns;
	if (td_record_save(self->config.state_dir, &record, &err) != 0)
		(void)td_error_set(&self->unkept,
				   "%s; the latched stop, locks and what the motors have done would be "
				   "forgotten by a restart; let the daemon write there, then restart it",
				   err.text);
}

static void load_state(struct service *self)
{
	struct td_state state = {.latched = true};
	struct td_error err;

	if (td_state_load(self->config.state_dir, &state, &err) != 0)
		warn(err.text);
	if (td_record_load(self->config.state_dir, td_record_machine(&self->config), td_clock_now(),
			   &self->kept, &self->kept_ns, &err) != 0)
		warn(err.text);
	self->front_start.latched = state.latched || self->kept.latched != 0;
	open_record(self);
}

/* R14: each reason once in the log; status tells them as long as the daemon lives. */
static void check_arming(struct service *self)
{
	struct td_arming *arming = &self->front_start.arming;

	td_arming_check(&self->config, self->config_file, self->lines, self->sysfs, arming);
	if (self->unkept.text[0] != '\0')
		td_arming_forbid(arming, &self->unkept);
	for (unsigned i = 0; i < arming->why_not.count; i++)
		fprintf(stderr, "<3>tripdogd: NOT ARMED: %s\n", arming->why_not.sentence[i].text);
	for (unsigned i = 0; i < arming->accepted.count; i++)
		fprintf(stderr, "<4>tripdogd: risk accepted: %s\n", arming->accepted.sentence[i].text);
}

static int lines_lost(const struct service *self)
{
	const char *chip = td_board_lines_lost(&self->config, self->lines);

	fprintf(stderr,
		"<3>tripdogd: the lines are lost%s%s; outputs cleared as far as they can be reached, "
		"ending\n",
		chip ? ": no answer from the chip " : "", chip ? chip : "");
	return TD_EXIT_LINES;
}

static int asked_to_end(void)
{
	fprintf(stderr, "<6>tripdogd: asked to end; outputs low\n");
	return TD_EXIT_OK;
}

static int last_words(struct service *self, enum td_mover_end end)
{
	switch (end) {
	case TD_MOVER_ASKED: return asked_to_end();
	case TD_MOVER_RELOAD:
		fprintf(stderr,
			"<6>tripdogd: the new configuration is good; outputs low, starting anew with it\n");
		self->anew = true;
		return TD_EXIT_OK;
	case TD_MOVER_FRONT_GONE:
		return complain(TD_EXIT_FRONT, "the front process is gone or deaf; outputs low, ending");
	case TD_MOVER_GUARD_GONE:
		return complain(TD_EXIT_GUARD, "the guard process is gone or deaf; outputs low, ending");
	case TD_MOVER_SCRIBE_GONE:
		return complain(TD_EXIT_SCRIBE, "the scribe process is gone; outputs low, ending");
	case TD_MOVER_LINES_LOST: return lines_lost(self);
	case TD_MOVER_CANNOT_WAIT:
	default: return complain(TD_EXIT_INTERNAL, "the kernel refused to wait; outputs low, ending");
	}
}

static int run_mover(struct service *self)
{
	const struct td_mover_setup setup = {
		.rules = &self->config.rules,
		.lines = td_test_faults(self->lines),
		.channel = self->children.front_end,
		.pulse_fd = self->children.pulse_fd,
		.signal_fd = self->signal_fd,
		.scribe_fd = self->children.scribe_fd,
		.shelf = self->shared.records,
		.steps = self->shared.steps,
		.snapshots = self->shared.snapshots,
		.meters = self->shared.meters,
		.machine = td_record_machine(&self->config),
		.kept = &self->kept,
		.kept_ns = self->kept_ns,
		.locked = self->kept.locked,
		.poll_ns = self->config.poll_ns,
		.latched = self->front_start.latched,
		.may_arm = self->front_start.arming.why_not.count == 0,
		.why_not = self->front_start.arming.why_not.sentence[0].text,
		.notify = &self->notify,
		.check = self->restart.check[0] ? self->restart.check : NULL,
	};

	harden();
	fprintf(stderr, "<6>tripdogd %s: %s: ready on the %s, %u axes, %u switches%s\n", TD_VERSION,
		self->config.machine, self->config.backend == TD_BACKEND_BENCH ? "bench" : "lines",
		self->config.axes, self->config.switches, setup.may_arm ? "" : ", NOT ARMED");
	return last_words(self, td_mover_run(&self->mover, &setup));
}

/* Lines are had; from here on every way out clears them first. */
static int serve(struct service *self)
{
	struct td_lines *lines = self->lines;
	const struct td_family family = {&self->config,   lines,         &self->front_start,
					 self->signal_fd, &self->shared, &self->text};
	struct td_error err;
	int code;

	check_arming(self);
	if (td_children_make(&self->children, &family, &err) == 0)
		code = run_mover(self);
	else
		code = complain(TD_EXIT_START, err.text);
	lines->ops->close(lines);
	if (code == TD_EXIT_FRONT || code == TD_EXIT_GUARD)
		td_children_kill(code == TD_EXIT_FRONT ? self->children.front : self->children.guard);
	td_children_end(&self->children);
	return code;
}

static int start(struct service *self)
{
	struct td_error err;

	if (td_front_listen(&self->config, &self->front_start, &err) != 0)
		return complain(TD_EXIT_START, err.text);
	if (td_shared_make(&self->shared, &err) != 0)
		return complain(TD_EXIT_START, err.text);
	self->front_start.shared = &self->shared;
	load_state(self);
	self->lines = td_board_lines_open(&self->config, self->config_file, &err);
	return self->lines ? serve(self) : complain(TD_EXIT_LINES, err.text);
}

/* --- chips that are not there yet -------------------------------------------------------------------- */

static bool absent(void *context, struct td_error *err)
{
	const struct service *self = context;

	return td_board_lines_absent(&self->config, self->config_file, err);
}

static void say_waiting(void *context, const char *sentence)
{
	const struct service *self = context;

	fprintf(stderr, "<4>tripdogd: waiting for a chip: %s\n", sentence);
	td_notify_status(&self->notify, "waiting for a chip: ", sentence);
}

/* A signal while it waits. */
static int end_waiting(struct service *self)
{
	struct signalfd_siginfo info;

	self->anew = read(self->signal_fd, &info, sizeof(info)) == (ssize_t)sizeof(info) &&
		     info.ssi_signo == SIGHUP;
	return self->anew ? TD_EXIT_OK : asked_to_end();
}

static int start_once_there(struct service *self)
{
	const struct td_await_setup setup = {.dir = "/dev",
					     .named = "gpiochip",
					     .signal_fd = self->signal_fd,
					     .absent = absent,
					     .say = say_waiting,
					     .context = self};
	struct td_error err;

	switch (td_await(&setup, &err)) {
	case TD_AWAIT_THERE: return start(self);
	case TD_AWAIT_SIGNAL: return end_waiting(self);
	case TD_AWAIT_BROKEN:
	default: return complain(TD_EXIT_LINES, err.text);
	}
}

/* Crash-only: what is new starts from nothing, in the same process. */
static int run_anew(const struct service *self, int code)
{
	struct td_error err;

	if (!self->anew)
		return code;
	(void)td_restart(&self->restart, &err);
	return complain(TD_EXIT_START, err.text);
}

static int run(struct service *self, const struct td_options *options, char *const *argv)
{
	struct td_error err;

	td_restart_init(&self->restart, argv, options->config);
	if (block_signals(self, &err) != 0)
		return complain(TD_EXIT_START, err.text);
	if (td_notify_open(&self->notify, &err) != 0)
		warn(err.text);
	if (!read_config(self, options->config) || !fits_system(self, options->config))
		return TD_EXIT_CONFIG;
	self->sysfs = options->sysfs;
	int code = start_once_there(self);

	td_front_leave(&self->front_start);
	return run_anew(self, code);
}

int main(int argc, char **argv)
{
	struct td_options options;
	struct td_error err;

	if (td_options_parse(argc, argv, &options, &err) != 0)
		return complain(TD_EXIT_USAGE, err.text);
	switch (options.mode) {
	case TD_MODE_HELP: td_options_help(stdout); return TD_EXIT_OK;
	case TD_MODE_VERSION: puts("tripdogd " TD_VERSION); return TD_EXIT_OK;
	case TD_MODE_EXPLAIN: td_explain(options.subject, options.mdoc, stdout); return TD_EXIT_OK;
	case TD_MODE_CHECK: return check_config(&service, options.config);
	case TD_MODE_CLEAR: return clear_lines(&service, options.config);
	case TD_MODE_RUN:
	default: return run(&service, &options, argv);
	}
}
