/* SPDX-License-Identifier: MIT */
#include <stdio.h>

#include "trace/tape_parts.h"

static const struct item {
	const char *scope;
	const char *name;
	unsigned int width;
} items[TD_TAPE_ITEMS] = {
#define TD_X(ident, scope, name, width) {scope, name, width},
	TD_TAPE_TABLE(TD_X)
#undef TD_X
};

static unsigned int of_axes(const struct td_config *config)
{
	return config->axes * (unsigned int)TD_TAPE_AXIS_SIGNALS;
}

static unsigned int of_switches(const struct td_config *config)
{
	return config->switches * (unsigned int)TD_TAPE_SWITCH_SIGNALS;
}

unsigned int td_tape_axis(uint8_t axis)
{
	return axis * (unsigned int)TD_TAPE_AXIS_SIGNALS;
}

unsigned int td_tape_switch(const struct td_config *config, uint8_t sw)
{
	return of_axes(config) + sw * (unsigned int)TD_TAPE_SWITCH_SIGNALS;
}

unsigned int td_tape_item(const struct td_config *config, enum td_tape_item item)
{
	return of_axes(config) + of_switches(config) + (unsigned int)item;
}

unsigned int td_tape_signals(const struct td_config *config)
{
	return td_tape_item(config, TD_TAPE_ITEMS);
}

bool td_tape_happens(enum td_tape_item item)
{
	return item == TD_TAPE_LOST || item == TD_TAPE_CHECK || item == TD_TAPE_CAME || item == TD_TAPE_WENT;
}

static void name_it(struct td_tape_signal *signal, const char *before, const char *name)
{
	(void)snprintf(signal->name, sizeof(signal->name), "%s%s", before, name);
}

static void axis_signal(const struct td_config *config, unsigned int index, struct td_tape_signal *signal)
{
	const struct td_config_axis *axis = &config->axis[index / TD_TAPE_AXIS_SIGNALS];
	unsigned int which = index % TD_TAPE_AXIS_SIGNALS;

	signal->scope = axis->name;
	signal->scope_number = index / TD_TAPE_AXIS_SIGNALS;
	if (which < TD_TAPE_ASK)
		name_it(signal, "", axis->way_name[which]);
	else if (which < TD_TAPE_STATE)
		name_it(signal, TD_TRACE_ASK, axis->way_name[which - TD_TAPE_ASK]);
	else
		name_it(signal, "", which == TD_TAPE_STATE ? TD_TRACE_STATE : TD_TRACE_CAUSE);
	if (which >= TD_TAPE_STATE)
		signal->width = which == TD_TAPE_STATE ? TD_TRACE_STATE_BITS : TD_TRACE_CAUSE_BITS;
}

static void switch_signal(const struct td_config *config, unsigned int index, struct td_tape_signal *signal)
{
	bool level = index % TD_TAPE_SWITCH_SIGNALS == TD_TAPE_LEVEL;

	signal->scope = TD_TRACE_SWITCHES;
	signal->scope_number = TD_AXES_MAX;
	name_it(signal, level ? "" : TD_TRACE_ACTIVE, config->sw[index / TD_TAPE_SWITCH_SIGNALS].name);
}

static void item_signal(unsigned int index, struct td_tape_signal *signal)
{
	const struct item *item = &items[index];

	signal->scope = item->scope;
	signal->scope_number = TD_AXES_MAX + 1U + (index > TD_TAPE_MACHINE_CAUSE) + (index > TD_TAPE_END);
	signal->width = item->width;
	name_it(signal, "", item->name);
}

void td_tape_signal(const struct td_config *config, unsigned int index, struct td_tape_signal *signal)
{
	*signal = (struct td_tape_signal){.width = 1};
	if (index < of_axes(config))
		axis_signal(config, index, signal);
	else if (index < of_axes(config) + of_switches(config))
		switch_signal(config, index - of_axes(config), signal);
	else
		item_signal(index - of_axes(config) - of_switches(config), signal);
}
