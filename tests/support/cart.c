/* SPDX-License-Identifier: MIT */
#include "tests/support/cart.h"

#include <stdio.h>
#include <string.h>

struct td_plant_model cart_model(void)
{
	struct td_plant_model model = {
		.motors = CART_AXES, .switches = CART_SWITCHES, .bounce_ns = TD_US(1500), .seed = 1};

	model.motor[CART_DRIVE] = (struct td_plant_motor){
		.travel_ns = {TD_MS(4000), TD_MS(4000)},
		.speed_up_ns = TD_MS(120),
		.coast_ns = TD_MS(80),
		.brake_ns = TD_MS(10),
		.end_switch = {TD_NO_SWITCH, TD_NO_SWITCH},
	};
	model.motor[CART_BOOM] = (struct td_plant_motor){
		.ends = true,
		.travel_ns = {TD_MS(1500), TD_MS(2000)},
		.speed_up_ns = TD_MS(40),
		.coast_ns = TD_MS(25),
		.brake_ns = TD_MS(10),
		.switch_share = 0.05,
		.teeth_per_s = 60,
		.jam_teeth_per_s = 60,
		.start = 0.5,
		.end_switch = {CART_BOTTOM, CART_TOP},
	};
	return model;
}

struct td_config cart_config(void)
{
	static const char *const axes[CART_AXES] = {"drive", "boom"};
	static const char *const ways[CART_AXES][TD_WAYS] = {{"backward", "forward"}, {"lower", "raise"}};
	static const char *const switches[CART_SWITCHES] = {"boom_bottom", "boom_top", "stop_contact"};
	struct td_config config;

	memset(&config, 0, sizeof(config));
	config.axes = config.rules.axes = CART_AXES;
	config.switches = config.rules.switches = CART_SWITCHES;
	config.rules.stop_switch = CART_STOP;
	config.rules.supply = td_rules_any_supply(CART_AXES);
	config.rules.cable = td_rules_any_cable();
	for (int axis = 0; axis < CART_AXES; axis++) {
		(void)snprintf(config.axis[axis].name, sizeof(td_name), "%s", axes[axis]);
		config.rules.axis[axis].duty = td_rules_any_duty();
		for (int way = 0; way < TD_WAYS; way++) {
			(void)snprintf(config.axis[axis].way_name[way], sizeof(td_name), "%s",
				       ways[axis][way]);
			config.rules.axis[axis].way[way].end_switch = TD_NO_SWITCH;
		}
	}
	config.rules.axis[CART_BOOM].way[0].end_switch = CART_BOTTOM;
	config.rules.axis[CART_BOOM].way[1].end_switch = CART_TOP;
	for (int sw = 0; sw < CART_SWITCHES; sw++)
		(void)snprintf(config.sw[sw].name, sizeof(td_name), "%s", switches[sw]);
	return config;
}
