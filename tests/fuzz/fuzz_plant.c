/* SPDX-License-Identifier: MIT */
/* Any bytes as the plant file of the glasshouse cart; a plant that is read then runs for two seconds. */
#include <math.h>
#include <string.h>

#include "sim/plant_config.h"
#include "tests/fuzz/fuzz.h"

/* So many events a second of simulated time are run through; a model may ask for millions. */
enum { EVENTS_MAX = 2000 };

static const struct td_config *cart(void)
{
	static struct td_config config;
	static struct td_config_faults faults;

	if (config.axes == 0)
		must(td_config_read("docs/examples/glasshouse.conf", &config, &faults),
		     "the example is valid");
	return &config;
}

static void check_axis(const struct td_plant *plant, uint8_t axis)
{
	struct td_plant_report report;

	td_plant_report(plant, axis, &report);
	must(isfinite(report.position) && isfinite(report.speed), "a place and a speed are numbers");
	if (plant->model.motor[axis].ends)
		must(report.position >= 0 && report.position <= 1, "an axis with ends stays between them");
	must(report.powered_ns >= 0 && report.pushing_ns >= 0 && report.skipped_teeth >= 0, "sums grow");
	must(report.both_high == 0, "nobody made both inputs high");
}

static void run(struct td_plant *plant, td_ns to_ns)
{
	for (int i = 0; i < EVENTS_MAX; i++) {
		td_ns next_ns = td_plant_next(plant);

		must(next_ns > plant->now_ns, "the next event is ahead");
		if (next_ns >= to_ns)
			break;
		td_plant_advance(plant, next_ns);
	}
	td_plant_advance(plant, to_ns);
	must(plant->now_ns == to_ns, "time has passed");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct td_plant_model model;
	static struct td_plant plant;
	static struct td_config_faults faults;
	bool read =
		td_plant_config_read_text((const char *)bytes, count, "fuzz.plant", cart(), &model, &faults);

	must_be_whole(read, &faults);
	if (!read) {
		must(is_all_zero(&model, sizeof(model)), "nothing is left of a bad file");
		return 0;
	}
	td_plant_init(&plant, &model, TD_S(1));
	td_plant_outputs(&plant, TD_S(1), UINT32_C(0x55555555) & td_plant_lines(model.motors));
	run(&plant, TD_S(2));
	td_plant_outputs(&plant, TD_S(2), UINT32_C(0xaaaaaaaa) & td_plant_lines(model.motors));
	run(&plant, TD_S(3));
	for (uint8_t axis = 0; axis < model.motors; axis++)
		check_axis(&plant, axis);
	return 0;
}
