/* SPDX-License-Identifier: MIT */
/* The machine as the entries of a trace tell it, with when each thing last changed. */
#include <string.h>

#include "trace/account_parts.h"

static uint8_t axes_of(const struct td_config *config)
{
	return config->rules.axes < TD_AXES_MAX ? config->rules.axes : TD_AXES_MAX;
}

static uint8_t switches_of(const struct td_config *config)
{
	return config->rules.switches < TD_SWITCHES_MAX ? config->rules.switches : TD_SWITCHES_MAX;
}

/* The powered way of an axis; TD_NO_WAY where none is. */
static uint8_t powered(uint32_t outputs, uint8_t axis)
{
	uint32_t bits = outputs >> (axis * TD_WAYS) & 3;

	if (bits == 0)
		return TD_NO_WAY;
	return bits & 1 ? 0 : 1;
}

/* --- the beginning ---------------------------------------------------------------------------------- */

static void begin_axis(struct td_account_axis *axis, const struct td_axis *core, td_ns at_ns)
{
	bool held = core->state == TD_AXIS_RUN || core->state == TD_AXIS_WAIT;

	axis->state = (uint8_t)core->state;
	axis->way = core->state == TD_AXIS_RUN ? core->way : core->last_way;
	axis->since_ns = core->state == TD_AXIS_RUN ? core->since_ns : at_ns;
	axis->cut_ns = core->last_way < TD_WAYS ? core->cut_ns : -1;
	if (!held)
		return;
	axis->hold = (struct td_account_hold){
		.by = {.session = core->hold.session, .role = TD_NO_ROLE},
		.number = core->hold.number,
		.way = core->way,
		.begun_before = true,
		.begun_ns = at_ns,
		.heard_ns = at_ns,
		.renewals = 0,
	};
}

void td_account_view_begin(struct td_account_view *view, const struct td_config *config,
			   const struct td_core *core, uint32_t levels, td_ns at_ns)
{
	uint32_t active = core ? td_core_active(core, &config->rules) : 0;

	memset(view, 0, sizeof(*view));
	view->known = core != NULL && core->levels_known;
	view->at_ns = at_ns;
	view->levels = levels;
	view->latch = core ? core->latch : 0;
	for (uint8_t i = 0; i < TD_AXES_MAX; i++) {
		view->axis[i] = (struct td_account_axis){
			.state = TD_AXIS_STATES, .way = TD_NO_WAY, .cut_ns = -1, .since_ns = at_ns};
		if (!core || i >= axes_of(config))
			continue;
		begin_axis(&view->axis[i], &core->axis[i], at_ns);
		view->outputs |= td_axis_outputs(&core->axis[i]) << (i * TD_WAYS);
	}
	for (uint8_t i = 0; i < switches_of(config); i++)
		view->sw[i] = (struct td_account_switch){
			.active = (active >> i & 1) != 0, .changed_ns = at_ns, .flipped_ns = at_ns};
}

/* --- a step ----------------------------------------------------------------------------------------- */

static void take_switches(struct td_account_view *view, const struct td_config *config,
			  const struct td_entry_step *step, td_ns at_ns)
{
	for (uint8_t i = 0; i < switches_of(config); i++) {
		struct td_account_switch *sw = &view->sw[i];
		bool active = (step->active >> i & 1) != 0;

		if (view->known && ((step->levels ^ view->levels) >> i & 1) != 0) {
			sw->flips++;
			sw->flipped_ns = at_ns;
		}
		if (view->known && active != sw->active) {
			sw->changes++;
			sw->changed_ns = at_ns;
		}
		sw->active = active;
	}
}

static void take_output(struct td_account_view *view, uint8_t index, uint32_t outputs, td_ns at_ns)
{
	struct td_account_axis *axis = &view->axis[index];
	uint8_t was = powered(view->outputs, index);
	uint8_t is = powered(outputs, index);

	if (was == is)
		return;
	if (was != TD_NO_WAY)
		axis->cut_ns = at_ns;
	if (is == TD_NO_WAY)
		return;
	axis->way = is;
	axis->since_ns = at_ns;
}

/* An accepted request or renewal says who holds the axis. */
static void take_hold(struct td_account_view *view, const struct td_entry_step *step, td_ns at_ns)
{
	const struct td_event *event = &step->event;

	if (event->kind != TD_EVENT_REQUEST || event->axis >= TD_AXES_MAX ||
	    td_cause_kind((enum td_cause)step->answer) != TD_KIND_MOVE)
		return;
	struct td_account_hold *hold = &view->axis[event->axis].hold;

	if (event->seq == 0 || hold->by.session != event->session || hold->number != event->hold)
		*hold = (struct td_account_hold){.by.session = event->session,
						 .number = event->hold,
						 .begun_before = event->seq != 0,
						 .begun_ns = at_ns};
	hold->by.role = event->role;
	hold->way = event->way;
	hold->heard_ns = event->heard_ns > 0 && event->heard_ns < at_ns ? event->heard_ns : at_ns;
	hold->lease_ns = event->lease_ns;
	hold->renewals += event->seq > 0;
}

void td_account_view_step(struct td_account_view *view, const struct td_config *config,
			  const struct td_entry *entry)
{
	const struct td_entry_step *step = &entry->as.step;

	take_switches(view, config, step, entry->at_ns);
	for (uint8_t i = 0; i < axes_of(config); i++) {
		take_output(view, i, step->outputs, entry->at_ns);
		view->axis[i].state = step->state[i];
	}
	take_hold(view, step, entry->at_ns);
	view->known = true;
	view->at_ns = entry->at_ns;
	view->outputs = step->outputs;
	view->levels = step->levels;
	view->latch = step->latch;
}
