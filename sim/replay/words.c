/* SPDX-License-Identifier: MIT */
#include "sim/replay/words.h"

#include <stdarg.h>
#include <stdio.h>

void td_replay_add(struct td_replay_words *words, const char *format, ...)
{
	size_t room = sizeof(words->text) - words->length;
	va_list args;

	va_start(args, format);
	int length = vsnprintf(words->text + words->length, room, format, args);
	va_end(args);
	if (length > 0)
		words->length += (size_t)length < room ? (size_t)length : room - 1;
}

void td_replay_add_axis(struct td_replay_words *words, const struct td_config *config, uint8_t axis)
{
	if (axis < config->axes)
		td_replay_add(words, "%s", config->axis[axis].name);
	else if (axis == TD_NO_AXIS || axis == TD_ALL_AXES)
		td_replay_add(words, "the machine");
	else
		td_replay_add(words, "axis %u, which does not exist", axis);
}

void td_replay_add_way(struct td_replay_words *words, const struct td_config *config, uint8_t axis,
		       uint8_t way)
{
	td_replay_add_axis(words, config, axis);
	if (axis < config->axes && way < TD_WAYS)
		td_replay_add(words, " %s", config->axis[axis].way_name[way]);
	else
		td_replay_add(words, " way %u, which does not exist", way);
}

void td_replay_add_ways(struct td_replay_words *words, const struct td_config *config, uint32_t ways)
{
	const char *between = "";

	if (ways == 0)
		td_replay_add(words, "none");
	for (uint8_t axis = 0; axis < config->axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if ((ways >> (axis * TD_WAYS + way) & 1) != 0) {
				td_replay_add(words, "%s%s.%s", between, config->axis[axis].name,
					      config->axis[axis].way_name[way]);
				between = ", ";
			}
}

static void add_levels(struct td_replay_words *words, const struct td_config *config,
		       const struct td_replay_step *step)
{
	uint32_t changed = step->levels_before ^ step->step.event.levels;
	const char *between = "";

	for (uint8_t sw = 0; sw < config->switches; sw++)
		if ((changed >> sw & 1) != 0) {
			bool high = (step->step.event.levels >> sw & 1) != 0;
			bool active = td_switch_reads_active(&config->rules.sw[sw], high);

			td_replay_add(words, "%s%s goes %s (%s)", between, config->sw[sw].name,
				      high ? "high" : "low", active ? "active" : "clear");
			between = ", ";
		}
	if (between[0] == '\0')
		td_replay_add(words, "the switches are read, none changed");
}

static void add_request(struct td_replay_words *words, const struct td_config *config,
			const struct td_event *event)
{
	td_replay_add(words, "session %u %s ", event->session, event->seq == 0 ? "asks for" : "renews");
	td_replay_add_way(words, config, event->axis, event->way);
	td_replay_add(words, " (hold %u", event->hold);
	if (event->seq > 0)
		td_replay_add(words, ", renewal %u", event->seq);
	td_replay_add(words, ")");
}

static void add_of_axis(struct td_replay_words *words, const struct td_config *config, const char *what,
			uint8_t axis)
{
	td_replay_add(words, "%s ", what);
	td_replay_add_axis(words, config, axis);
}

static void add_who(struct td_replay_words *words, const struct td_event *event)
{
	td_replay_add(words, " by session %u, %s", event->session,
		      event->role == TD_ROLE_KEEPER ? "keeper" : "visitor");
}

void td_replay_add_event(struct td_replay_words *words, const struct td_config *config,
			 const struct td_replay_step *step)
{
	const struct td_event *event = &step->step.event;

	switch (event->kind) {
	case TD_EVENT_TIME: td_replay_add(words, "time passed"); break;
	case TD_EVENT_LEVELS: add_levels(words, config, step); break;
	case TD_EVENT_REQUEST: add_request(words, config, event); break;
	case TD_EVENT_RELEASE:
		td_replay_add(words, "session %u lets go ", event->session);
		td_replay_add_axis(words, config, event->axis);
		break;
	case TD_EVENT_GONE: td_replay_add(words, "session %u has gone away", event->session); break;
	case TD_EVENT_TURN_OVER:
		td_replay_add(words, "the turn of session %u is over", event->session);
		break;
	case TD_EVENT_STOP: add_of_axis(words, config, "stop of", event->axis); break;
	case TD_EVENT_LATCH: td_replay_add(words, "latched stop"); break;
	case TD_EVENT_LATCH_KEPT: td_replay_add(words, "latched stop kept from before the start"); break;
	case TD_EVENT_RESET:
		add_of_axis(words, config, "reset of", event->axis);
		add_who(words, event);
		break;
	case TD_EVENT_ARM: td_replay_add(words, "the daemon arms"); break;
	case TD_EVENT_DISARM: td_replay_add(words, "the daemon disarms"); break;
	case TD_EVENT_LINES_LOST: td_replay_add(words, "the lines are lost"); break;
	case TD_EVENT_WRITTEN: td_replay_add(words, "what was cut is low on the lines"); break;
	case TD_EVENT_COOLED:
		add_of_axis(words, config, "cold motor of", event->axis);
		add_who(words, event);
		break;
	case TD_EVENT_BREACH: td_replay_add(words, "the monitor saw a broken rule"); break;
	case TD_EVENT_LOCK_KEPT:
		td_replay_add(words, "lock kept from before the start: ");
		td_replay_add_way(words, config, event->axis, event->way);
		break;
	case TD_EVENT_UNTWISTED:
		td_replay_add(words, "untwisted cable");
		add_who(words, event);
		break;
	case TD_EVENT_KINDS:
	default: td_replay_add(words, "event %u, which does not exist", (unsigned int)event->kind); break;
	}
}

void td_replay_add_outcome(struct td_replay_words *words, const struct td_config *config,
			   const struct td_replay_step *step)
{
	const char *between = "";

	if (step->step.answer != TD_CAUSE_NONE) {
		td_replay_add(words, "%s", td_cause_info((enum td_cause)step->step.answer)->name);
		between = "; ";
	}
	for (uint16_t i = 0; i < step->said; i++) {
		if (step->news[i].cause == step->step.answer) /* said already, of what was asked for */
			continue;
		td_replay_add(words, "%s%s%s", between,
			      td_cause_info((enum td_cause)step->news[i].cause)->name,
			      step->news[i].axis == TD_NO_AXIS ? "" : " ");
		if (step->news[i].axis != TD_NO_AXIS)
			td_replay_add_axis(words, config, step->news[i].axis);
		between = "; ";
	}
	if (step->step.outputs != step->outputs_before) {
		td_replay_add(words, "%soutputs ", between);
		td_replay_add_ways(words, config, step->step.outputs);
		between = "; ";
	}
	if (between[0] == '\0')
		td_replay_add(words, "nothing");
}

void td_replay_add_client(struct td_replay_words *words, const struct td_replay_moment *moment)
{
	const struct td_entry_session *session = &moment->session;

	if (moment->kind == TD_ENTRY_REFUSED)
		td_replay_add(words, "session %u is turned away: %s", session->session,
			      td_cause_info((enum td_cause)session->cause)->name);
	else if (session->came)
		td_replay_add(words, "session %u comes, %s, user %u", session->session,
			      session->role == TD_ROLE_KEEPER ? "keeper" : "visitor", session->uid);
	else
		td_replay_add(words, "session %u goes", session->session);
}

const char *td_replay_state_name(uint8_t state)
{
	static const char *const names[TD_AXIS_STATES] = {[TD_AXIS_TRIPPED] = "tripped",
							  [TD_AXIS_STILL] = "still",
							  [TD_AXIS_COAST] = "coast",
							  [TD_AXIS_WAIT] = "wait",
							  [TD_AXIS_RUN] = "run"};

	return state < TD_AXIS_STATES ? names[state] : "impossible";
}
