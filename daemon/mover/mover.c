/* SPDX-License-Identifier: MIT */
#include "daemon/mover/mover.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "core/record.h"
#include "daemon/clock.h"
#include "daemon/guard/pulse.h"
#include "daemon/mover/inside.h"

/* While anything moves the core hears of the time at least this often, so that what it counts by time stays live. */
#define TIME_EVERY_NS TD_MS(50)

enum {
	FDS_OWN = 6,     /* signals, guard, scribe, urgent, orders, checker */
	EDGES_MAX = 256, /* in one cycle: a storm of edges must not keep orders waiting */
};

void td_mover_stop(struct td_mover *mover, enum td_mover_end why)
{
	if (!mover->ended)
		mover->end = why;
	mover->ended = true;
}

void td_mover_lines_lost(struct td_mover *mover)
{
	td_mover_stop(mover, TD_MOVER_LINES_LOST);
}

static td_ns latest(td_ns a_ns, td_ns b_ns)
{
	return a_ns > b_ns ? a_ns : b_ns;
}

static void step_levels(struct td_mover *mover, td_ns at_ns, uint32_t levels)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS, .levels = levels};

	/* A time stamp of the kernel may be a little older than what core and monitor already know. */
	event.at_ns = latest(at_ns, latest(mover->core.now_ns, mover->looked_ns));
	mover->levels = levels;
	mover->edge_ns = at_ns;
	(void)td_mover_step(mover, &event);
}

/* Edges tell what happened between two looks; they are replayed to the core in their order. True if any came. */
static bool take_edges(struct td_mover *mover)
{
	struct td_lines_edge edge;
	bool any = false;

	for (int i = 0; i < EDGES_MAX && !mover->ended; i++) {
		int got = mover->lines->ops->next_edge(mover->lines, &edge);

		if (got < 0)
			td_mover_lines_lost(mover);
		if (got <= 0)
			break;
		any = true;
		if (edge.sw >= TD_SWITCHES_MAX)
			continue;
		uint32_t bit = UINT32_C(1) << edge.sw;

		step_levels(mover, edge.at_ns, edge.high ? mover->levels | bit : mover->levels & ~bit);
	}
	return any;
}

/* Levels decide: read after any edge, and while anything moves. */
static void take_levels(struct td_mover *mover)
{
	uint32_t levels = 0;
	td_ns now_ns = td_clock_now();

	if (mover->ended)
		return;
	mover->polled_ns = now_ns;
	if (mover->lines->ops->get(mover->lines, &levels) != 0)
		td_mover_lines_lost(mover);
	else if (levels != mover->levels)
		step_levels(mover, now_ns, levels);
}

/* Not before what the core already knows: an edge's time stamp may be a little ahead. */
static td_ns now_of(const struct td_mover *mover)
{
	return latest(td_clock_now(), mover->core.now_ns);
}

/* Powered or coasting: an end may be near. */
static bool anything_moves(const struct td_mover *mover, td_ns now_ns)
{
	for (uint8_t axis = 0; axis < mover->rules->axes; axis++)
		if (td_axis_moving(&mover->core.axis[axis], &mover->rules->axis[axis], now_ns))
			return true;
	return false;
}

/* Not armed, it does not beat: then the dead-man circuit keeps the motor power off too. */
static bool beats(const struct td_mover *mover)
{
	return mover->lines->beats && mover->core.armed;
}

/* R16: only a cycle that came to its end beats. */
static void beat(struct td_mover *mover)
{
	td_ns now_ns = td_clock_now();

	if (mover->ended || !beats(mover) || td_time_between(mover->beat_ns, now_ns) < TD_MOVER_BEAT_NS)
		return;
	mover->beat_ns = now_ns;
	mover->beat_high = !mover->beat_high;
	if (mover->lines->ops->beat(mover->lines, mover->beat_high) != 0)
		td_mover_lines_lost(mover);
}

static td_ns next_wake(const struct td_mover *mover)
{
	td_ns wake_ns =
		td_time_earlier(mover->result.deadline_ns, td_notes_deadline(&mover->notes, mover->written));

	wake_ns = td_time_earlier(wake_ns, td_mover_records_due(&mover->records, mover->written));
	wake_ns = td_time_earlier(wake_ns, td_mover_manager_due(&mover->manager));
	wake_ns = td_time_earlier(wake_ns, td_reload_due(&mover->reload));
	wake_ns = td_time_earlier(wake_ns, td_ear_due(&mover->ear, td_clock_now()));
	if (anything_moves(mover, now_of(mover))) {
		wake_ns = td_time_earlier(wake_ns, td_time_after(mover->polled_ns, mover->poll_ns));
		wake_ns = td_time_earlier(wake_ns, td_time_after(mover->core.now_ns, TIME_EVERY_NS));
	}
	if (beats(mover))
		wake_ns = td_time_earlier(wake_ns, td_time_after(mover->beat_ns, TD_MOVER_BEAT_NS));
	return wake_ns;
}

/* The new configuration was refused. */
static void keep_configuration(struct td_mover *mover)
{
	td_mover_manager_kept(&mover->manager);
	mover->notes.config_refused = true;
	td_mover_show(mover);
}

/* R7: stop overtakes everything, the check as well. */
static void begin_reload(struct td_mover *mover)
{
	td_ns now_ns = now_of(mover);
	const struct td_event stop = {
		.kind = TD_EVENT_STOP, .at_ns = now_ns, .axis = TD_ALL_AXES, .heard_ns = now_ns};

	(void)td_mover_step(mover, &stop);
	td_mover_manager_reloading(&mover->manager, now_ns);
	if (!td_reload_begin(&mover->reload, now_ns))
		keep_configuration(mover);
}

/* What is not SIGHUP, or cannot be read, ends the run. */
static void take_signal(struct td_mover *mover)
{
	struct signalfd_siginfo info;

	if (read(mover->signal_fd, &info, sizeof(info)) == (ssize_t)sizeof(info) && info.ssi_signo == SIGHUP)
		begin_reload(mover);
	else
		td_mover_stop(mover, TD_MOVER_ASKED);
}

static void take_verdict(struct td_mover *mover)
{
	switch (td_reload_verdict(&mover->reload, td_clock_now())) {
	case TD_RELOAD_GOOD: td_mover_stop(mover, TD_MOVER_RELOAD); break;
	case TD_RELOAD_BAD: keep_configuration(mover); break;
	case TD_RELOAD_WAITS:
	default: break;
	}
}

static void wait_for_something(struct td_mover *mover)
{
	struct pollfd poll_fd[FDS_OWN + TD_LINES_FDS_MAX];
	int line_fd[TD_LINES_FDS_MAX];
	int lines = mover->lines->ops->fds(mover->lines, line_fd);
	td_ns wake_ns = next_wake(mover);
	struct timespec span = td_clock_span(td_time_between(td_clock_now(), wake_ns));

	poll_fd[0] = (struct pollfd){.fd = mover->signal_fd, .events = POLLIN};
	poll_fd[1] = (struct pollfd){.fd = mover->pulse_fd};  /* the guard says nothing; its end is heard */
	poll_fd[2] = (struct pollfd){.fd = mover->scribe_fd}; /* nor does the scribe; -1 is passed over */
	poll_fd[3] = (struct pollfd){.fd = mover->channel.urgent_fd, .events = POLLIN};
	poll_fd[4] = (struct pollfd){.fd = mover->channel.orders_fd, .events = POLLIN};
	poll_fd[5] = (struct pollfd){.fd = mover->reload.fd, .events = POLLIN}; /* taken in the cycle */
	for (int i = 0; i < lines; i++)
		poll_fd[FDS_OWN + i] = (struct pollfd){.fd = line_fd[i], .events = POLLIN};
	int ready = ppoll(poll_fd, (nfds_t)FDS_OWN + (nfds_t)lines, wake_ns == TD_NEVER ? NULL : &span, NULL);

	if (ready < 0 && errno != EINTR)
		td_mover_stop(mover, TD_MOVER_CANNOT_WAIT);
	else if (ready > 0 && poll_fd[1].revents != 0)
		td_mover_stop(mover, TD_MOVER_GUARD_GONE);
	else if (ready > 0 && poll_fd[2].revents != 0)
		td_mover_stop(mover, TD_MOVER_SCRIBE_GONE);
	else if (ready > 0 && poll_fd[0].revents != 0)
		take_signal(mover);
}

/* The core need not hear of a time at which nothing is due. */
static void take_time(struct td_mover *mover)
{
	const struct td_event time = {.kind = TD_EVENT_TIME, .at_ns = now_of(mover)};
	bool stale = td_time_between(mover->core.now_ns, time.at_ns) >= TIME_EVERY_NS;

	if (time.at_ns >= mover->result.deadline_ns || (stale && anything_moves(mover, time.at_ns)))
		(void)td_mover_step(mover, &time);
	else if (mover->written != 0)
		td_mover_look(mover, time.at_ns);
}

void td_mover_show(struct td_mover *mover)
{
	td_meter_show(&mover->metering, &mover->core, mover->rules->axes, mover->written);
	td_notes_state(&mover->notes, &mover->core, mover->rules, now_of(mover), mover->written,
		       mover->levels);
}

static void step_alone(struct td_mover *mover, enum td_event_kind kind)
{
	const struct td_event event = {.kind = kind, .at_ns = now_of(mover)};

	(void)td_mover_step(mover, &event);
	td_mover_show(mover);
}

/* R14: that somebody hears a stop is a condition of motion. */
static void listen_to_front(struct td_mover *mover, bool fed)
{
	switch (td_ear_listen(&mover->ear, &mover->notes, mover->written != 0, fed, td_clock_now())) {
	case TD_EAR_WENT_DEAF: step_alone(mover, TD_EVENT_DISARM); break;
	case TD_EAR_HEARS_AGAIN:
		if (mover->may_arm)
			step_alone(mover, TD_EVENT_ARM);
		break;
	case TD_EAR_GONE: td_mover_stop(mover, TD_MOVER_FRONT_GONE); break;
	case TD_EAR_NOTHING_NEW:
	default: break;
	}
}

static void cycle(struct td_mover *mover)
{
	if (take_edges(mover) || anything_moves(mover, now_of(mover)))
		take_levels(mover);
	td_mover_take_orders(mover);
	take_time(mover);
	mover->notes.machine.cycles++;
	if (mover->written != 0)
		(void)td_mover_tell_guard(mover, mover->written);
	td_mover_show(mover);
	td_mover_records_tend(&mover->records, &mover->core, mover->rules, mover->written, td_clock_now());
	if (mover->notes.gone)
		td_mover_stop(mover, TD_MOVER_FRONT_GONE);
	take_verdict(mover);
	if (mover->ended)
		return;
	beat(mover);
	listen_to_front(mover,
			td_mover_manager_tend(&mover->manager, &mover->core, mover->rules, td_clock_now()));
}

/* R11: what was locked stays locked. */
static void keep_locks(struct td_mover *mover, uint32_t locked, td_ns now_ns)
{
	struct td_event kept = {.kind = TD_EVENT_LOCK_KEPT, .at_ns = now_ns};

	for (kept.axis = 0; kept.axis < mover->rules->axes; kept.axis++)
		for (kept.way = 0; kept.way < TD_WAYS; kept.way++)
			if ((locked >> (kept.axis * TD_WAYS + kept.way) & 1) != 0)
				(void)td_mover_step(mover, &kept);
}

/* R14: levels first, then latch and locks of the last run, then arming, if nothing speaks against it. */
static void start(struct td_mover *mover, const struct td_mover_setup *setup)
{
	td_ns now_ns = td_clock_now();
	const struct td_event kept = {.kind = TD_EVENT_LATCH_KEPT, .at_ns = now_ns};
	const struct td_event arm = {.kind = TD_EVENT_ARM, .at_ns = now_ns};
	uint32_t levels = 0;

	memset(mover, 0, sizeof(*mover));
	mover->rules = setup->rules;
	mover->lines = setup->lines;
	mover->channel = setup->channel;
	mover->pulse_fd = setup->pulse_fd;
	mover->signal_fd = setup->signal_fd;
	mover->scribe_fd = setup->scribe_fd;
	mover->poll_ns = setup->poll_ns;
	mover->may_arm = setup->may_arm;
	td_mover_manager_init(&mover->manager, setup->notify, setup->why_not);
	td_reload_init(&mover->reload, setup->check);
	td_notes_init(&mover->notes, setup->channel.orders_fd);
	td_core_init(&mover->core, mover->rules, now_ns);
	if (setup->kept)
		td_record_restore(&mover->core, mover->rules, setup->kept, setup->kept_ns);
	td_mover_records_init(&mover->records, setup->shelf, setup->machine, now_ns);
	td_monitor_init(&mover->monitor, mover->rules, now_ns);
	if (setup->kept)
		td_monitor_keep_twist(&mover->monitor, &setup->kept->twist);
	td_feed_init(&mover->feed, setup->steps, setup->snapshots, &mover->core);
	td_meter_init(&mover->metering, setup->meters, &mover->core);
	if (mover->lines->ops->get(mover->lines, &levels) != 0) {
		td_mover_lines_lost(mover);
		return;
	}
	step_levels(mover, now_ns, levels);
	if (setup->latched)
		(void)td_mover_step(mover, &kept);
	keep_locks(mover, setup->locked, now_ns);
	if (setup->may_arm)
		(void)td_mover_step(mover, &arm);
}

/* Nothing can be reached any more, or nothing is to be, but whoever follows or reads the trace shall know why it ended. */
static void finish(struct td_mover *mover)
{
	td_mover_step_last(mover, TD_EVENT_TIME); /* what was driven up to now is counted */
	td_mover_records_close(&mover->records, &mover->core, mover->rules, now_of(mover));
	td_mover_step_last(mover, mover->end == TD_MOVER_LINES_LOST ? TD_EVENT_LINES_LOST : TD_EVENT_DISARM);
	td_mover_show(mover);
}

enum td_mover_end td_mover_run(struct td_mover *mover, const struct td_mover_setup *setup)
{
	start(mover, setup);
	while (!mover->ended) {
		wait_for_something(mover);
		if (!mover->ended)
			cycle(mover);
	}
	(void)td_lines_all_low(mover->lines);
	(void)td_pulse_send(mover->pulse_fd, 0);
	mover->written = 0;
	td_reload_end(&mover->reload);
	if (mover->end != TD_MOVER_RELOAD)
		td_mover_manager_stopping(&mover->manager);
	finish(mover);
	return mover->end;
}
