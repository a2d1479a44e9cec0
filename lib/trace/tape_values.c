/* SPDX-License-Identifier: MIT */
/* The values of a tape, back to entries. */
#include <string.h>

#include "trace/tape_playing.h"

static uint64_t item(const struct td_tape_playing *playing, enum td_tape_item item)
{
	return playing->value[td_tape_item(playing->config, item)];
}

/* On the clock of the core. */
static td_ns clock_of(const struct td_tape_playing *playing, td_ns file_ns)
{
	return td_time_after(playing->opening.head.begin_ns, file_ns);
}

static void start_entry(const struct td_tape_playing *playing, struct td_entry *entry,
			enum td_entry_kind kind)
{
	memset(entry, 0, sizeof(*entry));
	entry->kind = kind;
	entry->at_ns = playing->now_ns;
}

static int give(const struct td_tape_playing *playing, td_ns file_ns, const struct td_entry *entry)
{
	return playing->sink->entry ? playing->sink->entry(playing->sink->ctx, file_ns, entry) : 0;
}

/* --- a step ------------------------------------------------------------------------------------------- */

/* The word whose bits stand in signals `stride` apart from `first` on. */
static uint32_t word_of(const struct td_tape_playing *playing, unsigned int first, unsigned int stride,
			unsigned int count)
{
	uint32_t word = 0;

	for (unsigned int i = 0; i < count; i++)
		word |= (uint32_t)(playing->value[first + i * stride] & 1) << i;
	return word;
}

static void take_axes(const struct td_tape_playing *playing, struct td_entry_step *step)
{
	for (uint8_t axis = 0; axis < playing->config->axes; axis++) {
		unsigned int first = td_tape_axis(axis);

		step->outputs |= word_of(playing, first + TD_TAPE_WAY, 1, TD_WAYS) << axis * TD_WAYS;
		step->asked |= word_of(playing, first + TD_TAPE_ASK, 1, TD_WAYS) << axis * TD_WAYS;
		step->state[axis] = (uint8_t)playing->value[first + TD_TAPE_STATE];
	}
}

static void take_event(const struct td_tape_playing *playing, td_ns file_ns, struct td_event *event)
{
	uint64_t at = (uint64_t)playing->opening.head.begin_ns + (uint64_t)file_ns;

	event->kind = (enum td_event_kind)td_trace_cause_of(item(playing, TD_TAPE_KIND));
	event->at_ns = td_tape_signed(at - item(playing, TD_TAPE_SHIFT));
	td_tape_event_of(event, (uint32_t)item(playing, TD_TAPE_GIVEN),
			 &playing->value[td_tape_item(playing->config, TD_TAPE_AXIS)]);
}

/* As the core itself takes the time of an event. */
static void take_time(struct td_tape_playing *playing, td_ns at_ns)
{
	if (at_ns >= playing->now_ns && at_ns < TD_NEVER)
		playing->now_ns = at_ns;
}

static bool states_exist(const struct td_entry_step *step)
{
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		if (step->state[axis] >= TD_AXIS_STATES)
			return false;
	return true;
}

static int take_step(struct td_tape_playing *playing, td_ns file_ns)
{
	const struct td_config *config = playing->config;
	struct td_entry entry;
	struct td_entry_step *step = &entry.as.step;

	start_entry(playing, &entry, TD_ENTRY_STEP);
	take_event(playing, file_ns, &step->event);
	take_time(playing, step->event.at_ns);
	playing->lost = false;
	entry.at_ns = playing->now_ns;
	entry.number = playing->next_number++;
	take_axes(playing, step);
	if (config->switches > 0) {
		step->levels = word_of(playing, td_tape_switch(config, 0) + TD_TAPE_LEVEL,
				       TD_TAPE_SWITCH_SIGNALS, config->switches);
		step->active = word_of(playing, td_tape_switch(config, 0) + TD_TAPE_ACTIVE,
				       TD_TAPE_SWITCH_SIGNALS, config->switches);
	}
	step->answer = (uint8_t)item(playing, TD_TAPE_ANSWER);
	step->armed = (uint8_t)item(playing, TD_TAPE_ARMED);
	step->latch = (uint8_t)item(playing, TD_TAPE_LATCH);
	step->news = (uint8_t)item(playing, TD_TAPE_NEWS);
	if (!states_exist(step))
		return td_tape_fail(playing, "an axis is in a state that does not exist");
	playing->steps++;
	return give(playing, file_ns, &entry);
}

/* --- the rest ------------------------------------------------------------------------------------------ */

static int take_news(struct td_tape_playing *playing, td_ns file_ns, uint8_t axis, uint64_t value)
{
	struct td_entry entry;

	/* the step that brought them is missing */
	if (playing->lost)
		take_time(playing, clock_of(playing, file_ns));
	start_entry(playing, &entry, TD_ENTRY_NEWS);
	entry.number = playing->next_number++;
	entry.as.news = (struct td_news){.cause = (enum td_cause)td_trace_cause_of(value),
					 .axis = axis,
					 .way = TD_NO_WAY,
					 .sw = TD_NO_SWITCH,
					 .role = TD_NO_ROLE};
	return give(playing, file_ns, &entry);
}

static int take_client(const struct td_tape_playing *playing, td_ns file_ns, enum td_tape_item what,
		       uint64_t value)
{
	struct td_entry entry;
	struct td_entry_session *who = &entry.as.session;
	bool refused = what == TD_TAPE_REFUSED;

	start_entry(playing, &entry, refused ? TD_ENTRY_REFUSED : TD_ENTRY_SESSION);
	entry.at_ns = clock_of(playing, file_ns);
	who->session = (uint32_t)(refused ? item(playing, TD_TAPE_REFUSED_SESSION) : value);
	who->uid = (uint32_t)item(playing, TD_TAPE_CLIENT_UID);
	who->role = (uint8_t)item(playing, TD_TAPE_CLIENT_ROLE);
	who->came = what == TD_TAPE_CAME;
	if (refused)
		who->cause = (uint8_t)td_trace_cause_of(value);
	return give(playing, file_ns, &entry);
}

static int take_lost(struct td_tape_playing *playing, td_ns file_ns, uint32_t lost)
{
	const struct td_tape_sink *sink = playing->sink;

	playing->next_number += lost;
	playing->lost = true;
	return sink->lost ? sink->lost(sink->ctx, file_ns, lost) : 0;
}

static int take_item(struct td_tape_playing *playing, td_ns file_ns, enum td_tape_item what, uint64_t value)
{
	const struct td_tape_sink *sink = playing->sink;

	/* most items wait for the one that they belong to */
	switch ((int)what) {
	case TD_TAPE_KIND: return take_step(playing, file_ns);
	case TD_TAPE_MACHINE_CAUSE: return take_news(playing, file_ns, TD_NO_AXIS, value);
	case TD_TAPE_CAME:
	case TD_TAPE_WENT:
	case TD_TAPE_REFUSED: return take_client(playing, file_ns, what, value);
	case TD_TAPE_LOST: return take_lost(playing, file_ns, (uint32_t)value);
	case TD_TAPE_CHECK: return sink->check ? sink->check(sink->ctx, file_ns, (uint32_t)value) : 0;
	case TD_TAPE_END: playing->ended = value != 0; return 0;
	default: return 0;
	}
}

int td_tape_on_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct td_tape_playing *playing = ctx;
	unsigned int items = td_tape_item(playing->config, 0);

	if (value.odd != 0) {
		if (signal >= items && td_tape_happens((enum td_tape_item)(signal - items)))
			return 0;
		return td_tape_fail(playing, "a signal that is always known is unknown here");
	}
	if (playing->ended)
		return td_tape_fail(playing, "the recording goes on behind its end");
	playing->value[signal] = value.bits;
	/* the first moment only shows how things stand */
	if (at_ns == 0)
		return 0;
	if (signal >= items)
		return take_item(playing, at_ns, (enum td_tape_item)(signal - items), value.bits);
	if (signal < td_tape_axis(playing->config->axes) && signal % TD_TAPE_AXIS_SIGNALS == TD_TAPE_CAUSE)
		return take_news(playing, at_ns, (uint8_t)(signal / TD_TAPE_AXIS_SIGNALS), value.bits);
	return 0;
}
