/* SPDX-License-Identifier: MIT */
/* What a scene cost the machine. */
#ifndef TD_SIM_DEMO_TOLL_H
#define TD_SIM_DEMO_TOLL_H

#include "sim/plant.h"

struct td_toll {
	int64_t skipped_teeth;
	uint64_t both_high; /* times */
	td_ns pushing_ns;   /* powered against a stop or a jam */
	td_ns powered_ns;
};

static inline struct td_toll td_toll_of(const struct td_plant *plant)
{
	struct td_toll toll = { 0, 0, 0, 0 };

	for (uint8_t axis = 0; axis < plant->model.motors; axis++) {
		struct td_plant_report report;

		td_plant_report(plant, axis, &report);
		toll.skipped_teeth += report.skipped_teeth;
		toll.both_high += report.both_high;
		toll.pushing_ns += report.pushing_ns;
		toll.powered_ns += report.powered_ns;
	}
	return toll;
}

#endif
