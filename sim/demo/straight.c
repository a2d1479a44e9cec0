/* SPDX-License-Identifier: MIT */
#include "sim/demo/straight.h"

#include <stdio.h>
#include <string.h>

enum { STEP_MS = 1 };

static bool is_lost(const struct td_act *act)
{
	return act->kind == TD_ACT_KILL || act->kind == TD_ACT_FREEZE;
}

/* A client that is lost before it lets go never lets go. */
static int until_ms(const struct td_scene *scene, size_t index)
{
	const struct td_act *hold = &scene->act[index];

	for (size_t i = index + 1; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++) {
		if (scene->act[i].kind == TD_ACT_HOLD)
			break;
		if (is_lost(&scene->act[i]) && scene->act[i].at_ms < hold->at_ms + hold->for_ms)
			return scene->length_ms;
	}
	return hold->at_ms + hold->for_ms;
}

static uint32_t outputs_at(const struct td_scene *scene, const struct td_config *config, int at_ms)
{
	uint32_t word = 0;

	for (size_t i = 0; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++) {
		const struct td_act *act = &scene->act[i];

		if (act->kind != TD_ACT_HOLD || at_ms < act->at_ms || at_ms >= until_ms(scene, i))
			continue;
		uint8_t axis = td_config_axis(config, act->axis);

		word |= UINT32_C(1) << (axis * TD_WAYS + td_config_way(config, axis, act->way));
	}
	return word;
}

static void poke(struct td_plant *plant, const struct td_config *config, const char *command)
{
	char verb[16];
	char name[TD_NAME_MAX];

	if (sscanf(command, "%15s %31s", verb, name) != 2)
		return;
	if (strcmp(verb, "jam") == 0)
		td_plant_jam(plant, td_config_axis(config, name), true);
	else if (strcmp(verb, "break") == 0)
		td_plant_wire(plant, td_config_switch(config, name), TD_WIRE_BROKEN);
}

struct td_toll td_demo_straight(const struct td_scene *scene, const struct td_config *config,
                                const struct td_plant_model *model)
{
	static struct td_plant plant;

	td_plant_init(&plant, model, 0);
	for (int at_ms = 0; at_ms <= scene->length_ms; at_ms += STEP_MS) {
		td_plant_outputs(&plant, TD_MS(at_ms), outputs_at(scene, config, at_ms));
		for (size_t i = 0; i < TD_ACTS_MAX && scene->act[i].kind != TD_ACT_NONE; i++)
			if (scene->act[i].kind == TD_ACT_POKE && scene->act[i].at_ms == at_ms)
				poke(&plant, config, scene->act[i].poke);
	}
	return td_toll_of(&plant);
}
