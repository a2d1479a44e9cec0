/* SPDX-License-Identifier: MIT */
/*
 * The same scene without tripdog: each request goes straight to its bridge input and stays there as long as
 * the person holds it; nobody takes it back when a client is lost; a latched stop does not exist. Virtual time,
 * same plant, same faults at the same moments.
 */
#ifndef TD_SIM_DEMO_STRAIGHT_H
#define TD_SIM_DEMO_STRAIGHT_H

#include "config/config.h"
#include "sim/demo/scene.h"
#include "sim/demo/toll.h"
#include "sim/plant.h"

/* 0, or -1 if there is no memory. */
int td_demo_straight(const struct td_scene *scene, const struct td_config *config,
		     const struct td_plant_model *model, struct td_toll *toll);

#endif
