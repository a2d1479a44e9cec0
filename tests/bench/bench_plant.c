/* SPDX-License-Identifier: MIT */
/*
 * How fast the plant runs in virtual time: simulated seconds in a second of this computer, four axes going
 * back and forth all the time, pressing their end switches and running into their stops.
 */
#include <stdio.h>
#include <time.h>

#include "sim/plant.h"

enum { AXES = 4, SWITCHES = 2 * AXES };

static struct td_plant_model model_of_four(void)
{
	struct td_plant_model model = {
		.motors = AXES, .switches = SWITCHES, .bounce_ns = TD_US(1500), .seed = 1};

	for (uint8_t axis = 0; axis < AXES; axis++)
		model.motor[axis] = (struct td_plant_motor){
			.ends = true,
			.travel_ns = {TD_MS(1500 + 100 * axis), TD_MS(2000)},
			.speed_up_ns = TD_MS(40),
			.coast_ns = TD_MS(25),
			.brake_ns = TD_MS(10),
			.switch_share = 0.05,
			.teeth_per_s = 60,
			.start = 0.5,
			.end_switch = {(uint8_t)(axis * 2), (uint8_t)(axis * 2 + 1)},
		};
	return model;
}

static double now_s(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

int main(void)
{
	struct td_plant_model model = model_of_four();
	struct td_plant plant;
	uint64_t events = 0;
	double start_s = now_s();
	double passed_s = 0;
	td_ns at_ns = 0;

	td_plant_init(&plant, &model, 0);
	for (uint32_t round = 0; passed_s < 1.0; round++) {
		at_ns += TD_MS(2500);
		td_plant_outputs(&plant, at_ns, round % 2 ? 0x55 : 0xaa);
		for (td_ns next = td_plant_next(&plant); next < at_ns + TD_MS(2500);
		     next = td_plant_next(&plant)) {
			td_plant_advance(&plant, next);
			events++;
		}
		if (round % 64 == 0)
			passed_s = now_s() - start_s;
	}
	double simulated_s = (double)at_ns * 1e-9;
	printf("# measured: plant, %d axes in motion: %.0f simulated seconds in one second, %.0f events in "
	       "one\n",
	       AXES, simulated_s / passed_s, (double)events / passed_s);
	return simulated_s / passed_s > 0 ? 0 : 1;
}
