/* SPDX-License-Identifier: MIT */
/* One event: core, monitor, lines, and then everybody who is told. */
#include "daemon/clock.h"
#include "daemon/guard/guard.h"
#include "daemon/guard/pulse.h"
#include "daemon/mover/inside.h"
#include "daemon/test_faults.h"

bool td_mover_tell_guard(struct td_mover *mover, uint32_t outputs)
{
	td_ns now_ns = td_clock_now();

	if (!td_channel_unread(mover->pulse_fd))
		mover->guard_read_ns = now_ns;
	if (now_ns - mover->guard_read_ns < TD_GUARD_DEAF_NS && td_pulse_send(mover->pulse_fd, outputs))
		return true;
	td_mover_stop(mover, TD_MOVER_GUARD_GONE);
	return false;
}

static void set_lines(struct td_mover *mover, uint32_t outputs)
{
	bool clears = (mover->written & ~outputs) != 0;

	mover->written = outputs;
	if (mover->lines->ops->set(mover->lines, mover->lines->outputs, outputs) != 0)
		td_mover_lines_lost(mover);
	if (clears)
		mover->cleared_ns = td_clock_now();
}

static void write_outputs(struct td_mover *mover)
{
	uint32_t wanted = mover->result.outputs;
	bool raises = (wanted & ~mover->written) != 0;

	if (wanted == mover->written)
		return;
	/* Nothing rises where something could not be lowered, nor where the guard does not listen. */
	if (raises && (mover->ended || !td_mover_tell_guard(mover, wanted | mover->written)))
		wanted = 0;
	set_lines(mover, wanted);
	(void)td_mover_tell_guard(mover, wanted);
}

/* What goes low needs no second opinion, and does not wait for one. */
static void lower(struct td_mover *mover, uint32_t outputs)
{
	uint32_t stay = outputs & mover->written;

	if (stay == mover->written)
		return;
	set_lines(mover, stay);
	(void)td_mover_tell_guard(mover, stay);
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

static void feed(struct td_mover *mover, const struct td_event *event)
{
	td_feed_step(&mover->feed, &mover->core, mover->rules, event, &mover->result, mover->levels);
}

static void make_real(struct td_mover *mover)
{
	write_outputs(mover);
	td_meter_step(&mover->metering, &mover->core, &mover->result);
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
	mover->result.outputs = outputs;
	feed(mover, event);
	(void)decide(mover, &trip, &again);
	if (mover->result.news_count > 0 || !mover->breached)
		td_notes_breach(&mover->notes, verdict, outputs);
	mover->breached = true;
	all_off(mover);
	feed(mover, &trip);
	mover->result.answer = event->kind == TD_EVENT_REQUEST ? TD_CAUSE_TRIPPED : answer;
}

/* Since when there may be a reason for what the core is about to do: since the order was heard, or the level was so; or since
 * something was due, if that was earlier: whatever the event is, the core then sees to that as well. */
static td_ns demanded_ns(const struct td_mover *mover, const struct td_event *event)
{
	td_ns since_ns = event->heard_ns > 0 ? event->heard_ns : event->at_ns;

	if (event->kind == TD_EVENT_LEVELS)
		since_ns = mover->edge_ns;
	return td_time_earlier(mover->result.deadline_ns, since_ns);
}

/* One event; the outputs are real before anything else happens. True if the write cleared any. */
static bool take(struct td_mover *mover, const struct td_event *event)
{
	uint32_t before = mover->written;
	td_ns since_ns = demanded_ns(mover, event);
	struct td_verdict verdict;

	if (event->kind == TD_EVENT_RESET)
		mover->breached = false;
	if (decide(mover, event, &verdict)) {
		make_real(mover);
		feed(mover, event);
	} else {
		breach(mover, event, &verdict, mover->result.outputs);
	}
	bool cleared = (before & ~mover->written) != 0;

	if (cleared)
		td_meter_stop(&mover->metering, td_time_between(since_ns, mover->cleared_ns));
	return cleared;
}

/* R3: the pauses of what was cut count from when it was low on the line, not from the decision. Each round can only
 * clear axes that were still powered, so there are at most as many. */
enum td_cause td_mover_step(struct td_mover *mover, const struct td_event *event)
{
	bool cleared = take(mover, event);
	enum td_cause answer = mover->result.answer;

	for (int round = 0; cleared && round < TD_AXES_MAX; round++) {
		const struct td_event written = {.kind = TD_EVENT_WRITTEN, .at_ns = td_clock_now()};

		cleared = take(mover, &written);
	}
	return answer;
}

void td_mover_look(struct td_mover *mover, td_ns now_ns)
{
	const struct td_event time = {.kind = TD_EVENT_TIME, .at_ns = now_ns};
	struct td_verdict verdict;

	mover->looked_ns = now_ns;
	td_monitor_see(&mover->monitor, mover->rules, &time);
	if (!td_monitor_judge(&mover->monitor, mover->rules, now_ns, mover->written, &verdict))
		(void)td_mover_step(mover, &time);
}

void td_mover_step_last(struct td_mover *mover, enum td_event_kind kind)
{
	const struct td_event event = {.kind = kind, .at_ns = td_clock_now()};

	td_core_step(&mover->core, mover->rules, &event, &mover->result);
	td_meter_step(&mover->metering, &mover->core, &mover->result);
	td_notes_news(&mover->notes, mover->core.now_ns, &mover->result, mover->levels);
	feed(mover, &event);
}
