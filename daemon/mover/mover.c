/* SPDX-License-Identifier: MIT */
#include "daemon/mover/mover.h"

#include <errno.h>
#include <poll.h>
#include <string.h>

#include "core/record.h"
#include "daemon/clock.h"
#include "daemon/guard/pulse.h"
#include "daemon/test_faults.h"

enum {
	FDS_OWN = 5,     /* signals, guard, scribe, urgent, orders */
	EDGES_MAX = 256, /* in one cycle: a storm of edges must not keep orders waiting */
	ORDERS_MAX = 32, /* in one cycle: a storm of orders must not keep levels waiting */
};

static void end(struct td_mover *mover, enum td_mover_end why)
{
	if (!mover->ended)
		mover->end = why;
	mover->ended = true;
}

/* R15: what cannot be written or read any more ends the run; td_mover_run() trips and clears. */
static void lines_lost(struct td_mover *mover)
{
	end(mover, TD_MOVER_LINES_LOST);
}

/* R16: without a guard that listens nothing may be high. */
static bool tell_guard(struct td_mover *mover, uint32_t outputs)
{
	if (td_pulse_send(mover->pulse_fd, outputs))
		return true;
	end(mover, TD_MOVER_GUARD_GONE);
	return false;
}

static void set_lines(struct td_mover *mover, uint32_t outputs)
{
	mover->written = outputs;
	if (mover->lines->ops->set(mover->lines, mover->lines->outputs, outputs) != 0)
		lines_lost(mover);
}

static void write_outputs(struct td_mover *mover)
{
	uint32_t wanted = mover->result.outputs;
	bool raises = (wanted & ~mover->written) != 0;

	if (wanted == mover->written)
		return;
	/* Nothing rises where something could not be lowered, nor where the guard does not listen. */
	if (raises && (mover->ended || !tell_guard(mover, wanted | mover->written)))
		wanted = 0;
	set_lines(mover, wanted);
	(void)tell_guard(mover, wanted);
}

/* What goes low needs no second opinion, and does not wait for one. */
static void lower(struct td_mover *mover, uint32_t outputs)
{
	uint32_t stay = outputs & mover->written;

	if (stay == mover->written)
		return;
	set_lines(mover, stay);
	(void)tell_guard(mover, stay);
}

/* One event through the core, and its outputs past the monitor. False if they must not be written. */
static bool decide(struct td_mover *mover, const struct td_event *event, struct td_verdict *verdict)
{
	struct td_result *result = &mover->result;

	td_core_step(&mover->core, mover->rules, event, result);
	result->outputs = td_test_fault_word(result->outputs);
	lower(mover, result->outputs);
	td_monitor_see(&mover->monitor, mover->rules, event);
	return td_monitor_judge(&mover->monitor, mover->rules, mover->core.now_ns, result->outputs, verdict);
}

static void make_real(struct td_mover *mover)
{
	write_outputs(mover);
	td_notes_news(&mover->notes, mover->core.now_ns, &mover->result, mover->levels);
	td_mover_records_note(&mover->records, &mover->result);
}

/* Nothing that the core says counts until everything is off. */
static void all_off(struct td_mover *mover)
{
	struct td_verdict verdict;

	mover->result.outputs = 0;
	make_real(mover);
	(void)td_monitor_judge(&mover->monitor, mover->rules, mover->core.now_ns, 0, &verdict);
}

/* Trips everything, whatever becomes of it, and tells why once. */
static void breach(struct td_mover *mover, const struct td_event *event, const struct td_verdict *verdict,
		   uint32_t outputs)
{
	const struct td_event trip = {.kind = TD_EVENT_BREACH, .at_ns = mover->core.now_ns};
	enum td_cause answer = mover->result.answer;
	struct td_verdict again;

	all_off(mover);
	(void)decide(mover, &trip, &again);
	if (mover->result.news_count > 0 || !mover->breached)
		td_notes_breach(&mover->notes, verdict, outputs);
	mover->breached = true;
	all_off(mover);
	mover->result.answer = event->kind == TD_EVENT_REQUEST ? TD_CAUSE_TRIPPED : answer;
}

/* One event; the outputs are real before anything else happens. True if the write cleared any. */
static bool take(struct td_mover *mover, const struct td_event *event)
{
	uint32_t before = mover->written;
	struct td_verdict verdict;

	if (event->kind == TD_EVENT_RESET)
		mover->breached = false;
	if (decide(mover, event, &verdict))
		make_real(mover);
	else
		breach(mover, event, &verdict, mover->result.outputs);
	return (before & ~mover->written) != 0;
}

/* R3: the pauses of what was cut count from when it was low on the line, not from the decision. Each round can only
 * clear axes that were still powered, so there are at most as many. */
static enum td_cause step(struct td_mover *mover, const struct td_event *event)
{
	bool cleared = take(mover, event);
	enum td_cause answer = mover->result.answer;

	for (int round = 0; cleared && round < TD_AXES_MAX; round++) {
		const struct td_event written = {.kind = TD_EVENT_WRITTEN, .at_ns = td_clock_now()};

		cleared = take(mover, &written);
	}
	return answer;
}

static void step_levels(struct td_mover *mover, td_ns at_ns, uint32_t levels)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS, .levels = levels};

	/* A time stamp of the kernel may be a little older than what the core already knows. */
	event.at_ns = at_ns > mover->core.now_ns ? at_ns : mover->core.now_ns;
	mover->levels = levels;
	step(mover, &event);
}

/* Edges tell what happened between two looks; they are replayed to the core in their order. True if any came. */
static bool take_edges(struct td_mover *mover)
{
	struct td_lines_edge edge;
	bool any = false;

	for (int i = 0; i < EDGES_MAX && !mover->ended; i++) {
		int got = mover->lines->ops->next_edge(mover->lines, &edge);

		if (got < 0)
			lines_lost(mover);
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
		lines_lost(mover);
	else if (levels != mover->levels)
		step_levels(mover, now_ns, levels);
}

static struct td_event order_event(const struct td_order *order, td_ns now_ns)
{
	return (struct td_event){
		.kind = (enum td_event_kind)order->kind,
		.at_ns = now_ns,
		.axis = order->axis,
		.way = order->way,
		.role = order->role,
		.session = order->session,
		.hold = order->hold,
		.seq = order->seq,
		.lease_ns = order->lease_ns,
		.heard_ns = order->heard_ns,
	};
}

/* What the front may ask. It cannot arm, nor invent levels. */
static bool may_order(uint32_t kind)
{
	return kind == TD_EVENT_REQUEST || kind == TD_EVENT_RELEASE || kind == TD_EVENT_GONE ||
	       kind == TD_EVENT_STOP || kind == TD_EVENT_LATCH || kind == TD_EVENT_RESET ||
	       kind == TD_EVENT_COOLED || kind == TD_EVENT_UNTWISTED;
}

static void note_stop_latency(struct td_mover *mover, const struct td_order *order)
{
	td_ns span_ns = td_time_between(order->heard_ns, td_clock_now());

	if (order->kind == TD_EVENT_STOP || order->kind == TD_EVENT_LATCH)
		mover->notes.machine.stop_latency_us = (uint32_t)(span_ns / 1000 % UINT32_MAX) + 1;
}

static void show_state(struct td_mover *mover)
{
	td_notes_state(&mover->notes, &mover->core, mover->rules, mover->core.now_ns, mover->written,
		       mover->levels);
}

/* The state goes out before the answer, so that who asks again right after it sees what came of it. */
static void obey(struct td_mover *mover, const struct td_order *order)
{
	if (!may_order(order->kind)) {
		end(mover, TD_MOVER_FRONT_GONE);
		return;
	}
	const struct td_event event = order_event(order, td_clock_now());

	enum td_cause answer = step(mover, &event);

	note_stop_latency(mover, order);
	show_state(mover);
	td_notes_answer(&mover->notes, mover->core.now_ns, order->tag, answer);
}

/* Takes and obeys one order; false if there is none. */
static bool take_order(struct td_mover *mover, int fd)
{
	struct td_order order;
	enum td_channel_result got = mover->ended ? TD_CHANNEL_EMPTY : td_channel_take_order(fd, &order);

	if (got == TD_CHANNEL_GONE)
		end(mover, TD_MOVER_FRONT_GONE);
	if (got == TD_CHANNEL_DONE)
		obey(mover, &order);
	return got == TD_CHANNEL_DONE;
}

static void take_orders(struct td_mover *mover)
{
	for (int i = 0; i < ORDERS_MAX; i++) {
		for (int k = 0; k < ORDERS_MAX && take_order(mover, mover->channel.urgent_fd); k++)
			;
		if (!take_order(mover, mover->channel.orders_fd))
			break;
	}
}

/* Powered or coasting: an end may be near. */
static bool anything_moves(const struct td_mover *mover)
{
	for (uint8_t axis = 0; axis < mover->rules->axes; axis++)
		if (td_axis_moving(&mover->core.axis[axis], &mover->rules->axis[axis], mover->core.now_ns))
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
		lines_lost(mover);
}

static td_ns next_wake(const struct td_mover *mover)
{
	td_ns wake_ns =
		td_time_earlier(mover->result.deadline_ns, td_notes_deadline(&mover->notes, mover->written));

	wake_ns = td_time_earlier(wake_ns, td_mover_records_due(&mover->records, mover->written));
	if (anything_moves(mover))
		wake_ns = td_time_earlier(wake_ns, td_time_after(mover->polled_ns, mover->poll_ns));
	if (beats(mover))
		wake_ns = td_time_earlier(wake_ns, td_time_after(mover->beat_ns, TD_MOVER_BEAT_NS));
	return wake_ns;
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
	for (int i = 0; i < lines; i++)
		poll_fd[FDS_OWN + i] = (struct pollfd){.fd = line_fd[i], .events = POLLIN};
	int ready = ppoll(poll_fd, (nfds_t)FDS_OWN + (nfds_t)lines, wake_ns == TD_NEVER ? NULL : &span, NULL);

	if (ready < 0 && errno != EINTR)
		end(mover, TD_MOVER_CANNOT_WAIT);
	else if (ready > 0 && poll_fd[1].revents != 0)
		end(mover, TD_MOVER_GUARD_GONE);
	else if (ready > 0 && poll_fd[2].revents != 0)
		end(mover, TD_MOVER_SCRIBE_GONE);
	else if (ready > 0 && poll_fd[0].revents != 0)
		end(mover, TD_MOVER_ASKED);
}

static void cycle(struct td_mover *mover)
{
	struct td_event time = {.kind = TD_EVENT_TIME};

	if (take_edges(mover) || anything_moves(mover))
		take_levels(mover);
	take_orders(mover);
	time.at_ns = td_clock_now();
	step(mover, &time);
	mover->notes.machine.cycles++;
	if (mover->written != 0)
		(void)tell_guard(mover, mover->written);
	show_state(mover);
	td_mover_records_tend(&mover->records, &mover->core, mover->rules, mover->written, td_clock_now());
	if (mover->notes.gone)
		end(mover, TD_MOVER_FRONT_GONE);
	beat(mover);
}

/* R11: what was locked stays locked. */
static void keep_locks(struct td_mover *mover, uint32_t locked, td_ns now_ns)
{
	struct td_event kept = {.kind = TD_EVENT_LOCK_KEPT, .at_ns = now_ns};

	for (kept.axis = 0; kept.axis < mover->rules->axes; kept.axis++)
		for (kept.way = 0; kept.way < TD_WAYS; kept.way++)
			if ((locked >> (kept.axis * TD_WAYS + kept.way) & 1) != 0)
				step(mover, &kept);
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
	td_notes_init(&mover->notes, setup->channel.orders_fd);
	td_core_init(&mover->core, mover->rules, now_ns);
	if (setup->kept)
		td_record_restore(&mover->core, mover->rules, setup->kept, setup->kept_ns);
	td_mover_records_init(&mover->records, setup->shelf, setup->machine, now_ns);
	td_monitor_init(&mover->monitor, mover->rules, now_ns);
	if (mover->lines->ops->get(mover->lines, &levels) != 0) {
		lines_lost(mover);
		return;
	}
	step_levels(mover, now_ns, levels);
	if (setup->latched)
		step(mover, &kept);
	keep_locks(mover, setup->locked, now_ns);
	if (setup->may_arm)
		step(mover, &arm);
}

/* Nothing can be reached any more, but whoever follows shall know why it ended. */
static void tell_loss(struct td_mover *mover)
{
	const struct td_event event = {.kind = TD_EVENT_LINES_LOST, .at_ns = td_clock_now()};

	td_core_step(&mover->core, mover->rules, &event, &mover->result);
	td_notes_news(&mover->notes, mover->core.now_ns, &mover->result, mover->levels);
	show_state(mover);
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
	td_mover_records_close(&mover->records, &mover->core, mover->rules, td_clock_now());
	if (mover->end == TD_MOVER_LINES_LOST)
		tell_loss(mover);
	return mover->end;
}
