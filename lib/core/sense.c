/* SPDX-License-Identifier: MIT */
#include "core/step.h"

static bool is_high(uint32_t levels, uint8_t sw)
{
	return (levels >> sw & 1) != 0;
}

static void settle(struct td_step *step)
{
	for (uint8_t sw = 0; sw < step->rules->switches && sw < TD_SWITCHES_MAX; sw++) {
		enum td_switch_edge edge =
			td_switch_settle(&step->core->sw[sw], &step->rules->sw[sw], step->now_ns);

		if (edge == TD_SWITCH_BECAME_ACTIVE)
			step->rose |= UINT32_C(1) << sw;
		if (edge != TD_SWITCH_NO_EDGE)
			td_report(step, TD_CAUSE_LEVELS_SEEN, TD_NO_AXIS, TD_NO_WAY, sw);
	}
}

/* The first levels after a start are facts, not changes: no filter, and an active end is a place. */
static void take_first_levels(struct td_step *step)
{
	for (uint8_t sw = 0; sw < step->rules->switches && sw < TD_SWITCHES_MAX; sw++) {
		td_switch_start(&step->core->sw[sw], &step->rules->sw[sw], is_high(step->event->levels, sw),
				step->now_ns);
		td_chatter_start(&step->core->chatter[sw]);
		if (step->core->sw[sw].active)
			step->rose |= UINT32_C(1) << sw;
	}
	step->core->levels_known = true;
}

static void take_level(struct td_step *step, uint8_t sw)
{
	struct td_core *core = step->core;
	const struct td_switch_rules *rules = &step->rules->sw[sw];
	bool before = core->sw[sw].raw;

	td_switch_level(&core->sw[sw], rules, is_high(step->event->levels, sw), step->now_ns);
	if (core->sw[sw].raw != before &&
	    td_chatter_change(&core->chatter[sw], &rules->chatter, step->now_ns))
		td_report(step, TD_CAUSE_CONTACT_CHATTERS, TD_NO_AXIS, TD_NO_WAY, sw);
}

static void take_levels(struct td_step *step)
{
	for (uint8_t sw = 0; sw < step->rules->switches && sw < TD_SWITCHES_MAX; sw++)
		take_level(step, sw);
}

void td_sense(struct td_step *step)
{
	bool levels = step->event->kind == TD_EVENT_LEVELS;

	if (!step->core->levels_known) {
		if (levels)
			take_first_levels(step);
		return;
	}
	settle(step);
	if (levels) {
		take_levels(step);
		settle(step);
	}
}

bool td_sense_active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->sw[sw].active;
}

bool td_sense_maybe_active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && td_switch_maybe_active(&core->sw[sw]);
}

bool td_sense_surely_active(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && td_switch_surely_active(&core->sw[sw]);
}

bool td_sense_chatters(const struct td_core *core, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX && core->chatter[sw].marked;
}

bool td_sense_restless(const struct td_core *core, const struct td_rules *rules, uint8_t sw)
{
	return sw < TD_SWITCHES_MAX &&
	       td_chatter_restless(&core->chatter[sw], &rules->sw[sw].chatter, core->now_ns);
}

void td_sense_forgive(struct td_core *core, uint8_t sw)
{
	if (sw < TD_SWITCHES_MAX)
		td_chatter_forgive(&core->chatter[sw]);
}

td_ns td_sense_deadline(const struct td_core *core, const struct td_rules *rules)
{
	td_ns deadline_ns = TD_NEVER;

	if (!core->levels_known)
		return deadline_ns;
	for (uint8_t sw = 0; sw < rules->switches && sw < TD_SWITCHES_MAX; sw++)
		deadline_ns = td_time_earlier(deadline_ns, td_switch_deadline(&core->sw[sw], &rules->sw[sw]));
	return deadline_ns;
}
