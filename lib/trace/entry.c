/* SPDX-License-Identifier: MIT */
#include "trace/entry.h"

#include <string.h>

#include "core/step.h"

static void blank(struct td_entry *entry, enum td_entry_kind kind, td_ns at_ns)
{
	memset(entry, 0, sizeof(*entry));
	entry->kind = kind;
	entry->at_ns = at_ns;
}

static uint32_t asked(const struct td_core *core, const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++)
		if (td_held(&core->axis[axis]) && core->axis[axis].way < TD_WAYS)
			word |= UINT32_C(1) << (axis * TD_WAYS + core->axis[axis].way);
	return word;
}

void td_entry_of_step(struct td_entry *entry, const struct td_core *core, const struct td_rules *rules,
		      const struct td_event *event, const struct td_result *result, uint32_t levels)
{
	struct td_entry_step *step = &entry->as.step;

	blank(entry, TD_ENTRY_STEP, core->now_ns);
	step->event = *event;
	step->outputs = result->outputs;
	step->asked = asked(core, rules);
	step->levels = levels;
	step->active = td_core_active(core, rules);
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++)
		step->state[axis] = (uint8_t)core->axis[axis].state;
	step->answer = (uint8_t)result->answer;
	step->armed = core->armed;
	step->latch = core->latch;
	step->news = (uint8_t)result->news_count;
}

void td_entry_of_news(struct td_entry *entry, const struct td_core *core, const struct td_result *result,
		      uint16_t index)
{
	blank(entry, TD_ENTRY_NEWS, core->now_ns);
	entry->as.news = result->news[index];
}
