/* SPDX-License-Identifier: MIT */
#include "sim/watch.h"

#include <math.h>
#include <string.h>

static void tell(const struct td_watch *watch, enum td_change_kind kind, unsigned int index, int64_t value)
{
	struct td_change change = {
		.at_ns = watch->plant->now_ns, .kind = kind, .index = (uint8_t)index, .value = value};

	if (watch->watcher.change)
		watch->watcher.change(watch->watcher.ctx, &change);
}

static void tell_bits(const struct td_watch *watch, enum td_change_kind kind, uint32_t changed, uint32_t word)
{
	for (unsigned int bit = 0; bit < 32; bit++)
		if (changed >> bit & 1U)
			tell(watch, kind, bit, word >> bit & 1U);
}

static void look_at_lines(struct td_watch *watch)
{
	uint32_t outputs = watch->plant->outputs;
	uint32_t levels = td_plant_levels(watch->plant);
	uint32_t outputs_changed = outputs ^ watch->outputs;
	uint32_t levels_changed = levels ^ watch->levels;

	watch->outputs = outputs;
	watch->levels = levels;
	tell_bits(watch, TD_CHANGE_OUTPUT, outputs_changed, outputs);
	tell_bits(watch, TD_CHANGE_LEVEL, levels_changed, levels);
}

static void look_at_axes(struct td_watch *watch)
{
	for (uint8_t axis = 0; axis < watch->plant->model.motors; axis++) {
		struct td_plant_report report;

		td_plant_report(watch->plant, axis, &report);
		int64_t position = llround(report.position * 1e6);
		if (position != watch->position[axis])
			tell(watch, TD_CHANGE_POSITION, axis, position);
		if (report.skipped_teeth != watch->teeth[axis])
			tell(watch, TD_CHANGE_TEETH, axis, report.skipped_teeth);
		watch->position[axis] = position;
		watch->teeth[axis] = report.skipped_teeth;
	}
}

static void plan_sample(struct td_watch *watch)
{
	bool wanted = watch->sample_ns > 0 && td_plant_moving(watch->plant);

	watch->next_sample_ns = wanted ? td_time_after(watch->plant->now_ns, watch->sample_ns) : TD_NEVER;
}

static void sample(struct td_watch *watch)
{
	if (watch->sample_ns <= 0)
		return;
	look_at_axes(watch);
	plan_sample(watch);
}

void td_watch_look(struct td_watch *watch)
{
	look_at_lines(watch);
	sample(watch);
}

void td_watch_start(struct td_watch *watch, struct td_plant *plant, td_ns sample_ns,
		    struct td_watcher watcher)
{
	memset(watch, 0, sizeof(*watch));
	watch->plant = plant;
	watch->watcher = watcher;
	watch->sample_ns = sample_ns;
	watch->outputs = plant->outputs;
	watch->levels = td_plant_levels(plant);
	tell_bits(watch, TD_CHANGE_OUTPUT, td_plant_lines(plant->model.motors), watch->outputs);
	tell_bits(watch, TD_CHANGE_LEVEL, td_plant_switch_lines(plant->model.switches), watch->levels);
	for (uint8_t axis = 0; axis < plant->model.motors; axis++)
		watch->position[axis] = watch->teeth[axis] = INT64_MIN; /* differs: told by the first look */
	sample(watch);
	plan_sample(watch);
}

td_ns td_watch_next(const struct td_watch *watch)
{
	return td_time_earlier(td_plant_next(watch->plant), watch->next_sample_ns);
}

void td_watch_run(struct td_watch *watch, td_ns to_ns)
{
	for (td_ns next = td_watch_next(watch); next <= to_ns && next != TD_NEVER;
	     next = td_watch_next(watch)) {
		td_plant_advance(watch->plant, next);
		look_at_lines(watch);
		if (next >= watch->next_sample_ns)
			sample(watch);
	}
	td_plant_advance(watch->plant, to_ns);
}

void td_watch_outputs(struct td_watch *watch, td_ns at_ns, uint32_t word)
{
	td_watch_run(watch, at_ns);
	td_plant_outputs(watch->plant, at_ns, word);
	td_watch_look(watch);
}

void td_watch_mark(struct td_watch *watch, const char *text)
{
	struct td_change change = {.at_ns = watch->plant->now_ns, .kind = TD_CHANGE_MARK, .text = text};

	if (watch->watcher.change)
		watch->watcher.change(watch->watcher.ctx, &change);
}
