/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/front/inside.h"
#include "wire/method.h"

static void take_breach(struct td_front *front, const struct td_note *note)
{
	const struct td_config *config = front->config;
	const struct td_note_breach *breach = &note->as.breach;
	const struct td_breach_info *info = td_breach_info((enum td_breach)breach->breach);
	bool axis = breach->axis < config->axes;

	td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR,
		       "breach rule=R%u axis=%s way=%s measured_us=%" PRId64 " bound_us=%" PRId64
		       " outputs=0x%x: not written, everything is off and tripped: %s",
		       info->rule, axis ? config->axis[breach->axis].name : "-",
		       axis && breach->way < TD_WAYS ? config->axis[breach->axis].way_name[breach->way] : "-",
		       breach->measured_ns / 1000, breach->bound_ns / 1000, breach->outputs, info->sentence);
}

static struct td_note_news nobodys_news(const struct td_front *front, enum td_cause cause, uint8_t axis)
{
	return (struct td_note_news){
		.cause = (uint8_t)cause,
		.axis = axis,
		.way = TD_NO_WAY,
		.sw = TD_NO_SWITCH,
		.role = TD_NO_ROLE,
		.outputs = front->mirror.machine.outputs,
		.levels = front->mirror.machine.levels,
	};
}

/* The axis was not tripped so when it was last seen, and no news of it came since. */
static bool is_untold_trip(const struct td_front *front, const struct td_note *note)
{
	const struct td_note_axis *now = &note->as.axis;
	const struct td_note_axis *before = &front->mirror.axis[now->axis];
	const struct td_happening *told = td_history_newest(front->history, TD_KIND_TRIP, now->axis);

	if (now->state != TD_AXIS_TRIPPED || td_cause_kind((enum td_cause)now->trip) != TD_KIND_TRIP)
		return false;
	if (before->state == TD_AXIS_TRIPPED && before->trip == now->trip)
		return false;
	return !told || told->news.cause != now->trip || told->at_ns < front->mirror.axis_ns[now->axis];
}

/* After a loss: no trip is missing from the news, even where the mover's word of it did not get through. */
static void make_good(struct td_front *front, const struct td_note *note)
{
	uint32_t bit = UINT32_C(1) << note->as.axis.axis;

	if ((front->doubtful & bit) != 0 && is_untold_trip(front, note)) {
		const struct td_note_news news =
			nobodys_news(front, (enum td_cause)note->as.axis.trip, note->as.axis.axis);

		td_front_follow_news(front, note->at_ns, &news);
	}
	front->doubtful &= ~bit;
}

static void take_axis(struct td_front *front, const struct td_note *note)
{
	uint8_t axis = note->as.axis.axis;

	if (axis >= front->config->axes)
		return;
	make_good(front, note);
	td_mirror_take(&front->mirror, note);
	td_front_follow_tell(front, (struct td_change){.axes = UINT32_C(1) << axis});
}

/* How many, and which, nobody knows. */
static void tell_loss(struct td_front *front, td_ns at_ns)
{
	const struct td_note_news news = nobodys_news(front, TD_CAUSE_NEWS_LOST, TD_NO_AXIS);

	td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_WARNING,
		       "news were lost between the processes; the state is whole again");
	td_front_follow_news(front, at_ns, &news);
	front->doubtful = UINT32_MAX;
}

static void take_machine(struct td_front *front, const struct td_note *note)
{
	td_mirror_take(&front->mirror, note);
	if (note->as.machine.lost != 0)
		tell_loss(front, note->at_ns);
	td_front_latch_seen(front, note->as.machine.latch != 0);
	td_front_follow_tell(front, (struct td_change){.machine = true});
}

void td_front_note(struct td_front *front, const struct td_note *note)
{
	switch (note->kind) {
	case TD_NOTE_ANSWER:
		td_front_answer(front, note->as.answer.tag, (enum td_cause)note->as.answer.cause);
		break;
	case TD_NOTE_NEWS: td_front_follow_news(front, note->at_ns, &note->as.news); break;
	case TD_NOTE_AXIS: take_axis(front, note); break;
	case TD_NOTE_MACHINE: take_machine(front, note); break;
	case TD_NOTE_BREACH: take_breach(front, note); break;
	case TD_NOTE_PING: break;
	default:
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR,
			       "a note of unknown kind %u came from the mover", note->kind);
		break;
	}
}
