/* SPDX-License-Identifier: MIT */
#include "sim/demo/straight.h"

#include <stdio.h>
#include <string.h>

#include "sim/straight.h"

static bool is_lost(const struct td_act *act)
{
	return act->kind == TD_ACT_KILL || act->kind == TD_ACT_FREEZE;
}

/* A client that is lost before it lets go never lets go; nobody holds on past the end of the scene. */
static int until_ms(const struct td_scene *scene, size_t index)
{
	const struct td_act *hold = &scene->act[index];
	int end_ms = hold->at_ms + hold->for_ms;

	for (size_t i = index + 1; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++) {
		if (scene->act[i].kind == TD_ACT_HOLD)
			break;
		if (is_lost(&scene->act[i]) && scene->act[i].at_ms < end_ms)
			return scene->length_ms;
	}
	return end_ms < scene->length_ms ? end_ms : scene->length_ms;
}

static struct td_straight_span span_of(const struct td_scene *scene, size_t index,
				       const struct td_config *config)
{
	const struct td_act *act = &scene->act[index];
	uint8_t axis = td_config_axis(config, act->axis);

	return (struct td_straight_span){.at_ns = TD_MS(act->at_ms),
					 .until_ns = TD_MS(until_ms(scene, index)),
					 .axis = axis,
					 .way = td_config_way(config, axis, act->way)};
}

static struct td_straight_fault fault_of(const struct td_act *act, const struct td_config *config)
{
	char name[TD_NAME_MAX] = "";
	struct td_straight_fault fault = {.at_ns = TD_MS(act->at_ms), .index = TD_NO_SWITCH};

	if (sscanf(act->poke, "jam %31s", name) == 1) {
		fault.index = td_config_axis(config, name);
	} else if (sscanf(act->poke, "break %31s", name) == 1) {
		fault.kind = TD_STRAIGHT_BROKEN_WIRE;
		fault.index = td_config_switch(config, name);
	}
	return fault;
}

static struct td_toll toll_of(const struct td_straight_result *result)
{
	struct td_toll toll = {0, 0, 0};

	for (uint8_t axis = 0; axis < result->axes; axis++) {
		toll.skipped_teeth += result->axis[axis].skipped_teeth;
		toll.both_high += result->axis[axis].both_high;
		toll.pushing_ns += result->axis[axis].pushing_ns;
	}
	return toll;
}

int td_demo_straight(const struct td_scene *scene, const struct td_config *config,
		     const struct td_plant_model *model, struct td_toll *toll)
{
	struct td_straight_span span[TD_ACTS_MAX];
	struct td_straight_fault fault[TD_ACTS_MAX];
	struct td_straight_case given = {.span = span, .fault = fault};
	struct td_straight_result result;

	for (size_t i = 0; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++) {
		if (scene->act[i].kind == TD_ACT_HOLD)
			span[given.spans++] = span_of(scene, i, config);
		else if (scene->act[i].kind == TD_ACT_POKE)
			fault[given.faults++] = fault_of(&scene->act[i], config);
	}
	if (td_straight_run(model, &given, (struct td_watcher){0}, &result) != 0)
		return -1;
	*toll = toll_of(&result);
	return 0;
}
