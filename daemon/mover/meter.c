/* SPDX-License-Identifier: MIT */
#include "daemon/mover/meter.h"

#include <string.h>

#define TD_X(number, ident, ...)                                                                             \
	_Static_assert((number) < TD_METER_CAUSES, #ident " has no place among what is counted");
TD_CAUSE_TABLE(TD_X)
#undef TD_X

uint32_t td_meter_bound_us(unsigned i)
{
	static const uint32_t bounds_us[] = {
#define TD_X(bound_us) bound_us,
		TD_METER_BOUND_TABLE(TD_X)
#undef TD_X
	};

	return bounds_us[i];
}

void td_meter_init(struct td_metering *metering, struct td_shelf *shelf, const struct td_core *core)
{
	memset(metering, 0, sizeof(*metering));
	metering->shelf = shelf;
	metering->changed = true;
	memcpy(metering->before, core->wear, sizeof(metering->before));
}

static void count_news(struct td_meter *meter, const struct td_news *news)
{
	meter->news[news->cause]++;
	if (td_cause_kind(news->cause) == TD_KIND_TRIP && news->axis < TD_AXES_MAX)
		meter->trips[news->axis][news->cause]++;
}

/* The core begins anew when it sees levels for the first time; what was counted here stays. */
static void count_pulses(struct td_metering *metering, const struct td_core *core)
{
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++) {
		uint32_t now = core->sw[sw].pulses;
		uint32_t before = metering->pulses[sw] <= now ? metering->pulses[sw] : 0;

		metering->meter.pulses[sw] += now - before;
		metering->changed |= now != before;
		metering->pulses[sw] = now;
	}
}

void td_meter_step(struct td_metering *metering, const struct td_core *core, const struct td_result *result)
{
	for (uint16_t i = 0; i < result->news_count; i++)
		count_news(&metering->meter, &result->news[i]);
	metering->changed |= result->news_count > 0;
	count_pulses(metering, core);
}

void td_meter_stop(struct td_metering *metering, td_ns span_ns)
{
	unsigned i = 0;

	while (i < TD_METER_BOUNDS && span_ns > TD_US(td_meter_bound_us(i)))
		i++;
	metering->meter.stops[i]++;
	metering->meter.stops_ns = td_time_after(metering->meter.stops_ns, span_ns);
	metering->changed = true;
}

static void take_wear(struct td_metering *metering, const struct td_core *core, uint8_t axis)
{
	struct td_meter *meter = &metering->meter;
	const struct td_wear *wear = &core->wear[axis];
	const struct td_wear *before = &metering->before[axis];

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		meter->life_run_ns[axis][way] = td_wear_powered_ns(wear, way, core->now_ns);
		meter->life_starts[axis][way] = wear->starts[way];
		meter->run_ns[axis][way] = meter->life_run_ns[axis][way] - before->powered_ns[way];
		meter->starts[axis][way] = wear->starts[way] - before->starts[way];
	}
	meter->duty[axis] = core->duty[axis];
}

void td_meter_show(struct td_metering *metering, const struct td_core *core, uint8_t axes, uint32_t written)
{
	bool due = written != 0 && td_time_between(metering->laid_ns, core->now_ns) >= TD_METER_EVERY_NS;

	if (!metering->shelf || !(metering->changed || due))
		return;
	for (uint8_t axis = 0; axis < axes; axis++)
		take_wear(metering, core, axis);
	memcpy(td_shelf_place(metering->shelf), &metering->meter, sizeof(metering->meter));
	td_shelf_lay(metering->shelf);
	metering->changed = false;
	metering->laid_ns = core->now_ns;
}
