/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "tests/explore/explore.h"

/* Of every exploration. */
#define COMMON                                                                                               \
	TD_CAUSE_STARTED, TD_CAUSE_LET_GO, TD_CAUSE_REPLACED, TD_CAUSE_LEASE_OUT, TD_CAUSE_CLIENT_GONE,      \
		TD_CAUSE_STOP_ASKED, TD_CAUSE_LATCH_CUT, TD_CAUSE_NOT_ARMED, TD_CAUSE_LATCHED,               \
		TD_CAUSE_OVERTAKEN, TD_CAUSE_LATCH_ASKED, TD_CAUSE_LATCH_INPUT, TD_CAUSE_RESET_DONE
#define OF_ENDS                                                                                              \
	TD_CAUSE_END_REACHED, TD_CAUSE_AT_END, TD_CAUSE_TRIPPED, TD_CAUSE_TRAVEL_LIMIT,                      \
		TD_CAUSE_LEAVE_LIMIT, TD_CAUSE_WRONG_END, TD_CAUSE_END_UNEXPECTED
#define OF_STROKES TD_CAUSE_HOLD_LIMIT, TD_CAUSE_AT_STOP

static const enum td_cause causes[VARIANTS][CAUSES_MAX] = {
	[VARIANT_ENDS] = {COMMON, OF_ENDS, TD_CAUSE_BOTH_ENDS, TD_CAUSE_END_TOO_EARLY},
	[VARIANT_STROKE] = {COMMON, OF_STROKES},
	[VARIANT_RESTORED] = {COMMON, OF_STROKES},
	[VARIANT_ONE_END] = {COMMON, OF_ENDS, OF_STROKES},
};

/* Numbers are invented, as small as the ticks allow. */
static struct td_way_rules ended(uint8_t end_switch)
{
	return (struct td_way_rules){
		.end_switch = end_switch,
		.reach_ns = 2 * TICK_NS,
		.limit_ns = 2 * TICK_NS,
		.early_ns = TICK_NS,
		.leave_ns = TICK_NS,
	};
}

static struct td_way_rules stroke(void)
{
	return (struct td_way_rules){
		.end_switch = TD_NO_SWITCH,
		.reach_ns = 2 * TICK_NS,
		.limit_ns = 2 * TICK_NS,
		.leave_ns = TICK_NS,
	};
}

static struct td_rules base(void)
{
	return (struct td_rules){
		.axes = 1,
		.switches = 1, /* who has no end switch has none that changes */
		.stop_switch = SW_STOP,
		.sw = {[SW_LOW] = {.confirm_ns = TD_MS(20), .clear_ns = TICK_NS},
		       [SW_HIGH] = {.clear_ns = TICK_NS},
		       [SW_STOP] = {.clear_ns = TICK_NS}},
		.axis = {{.dead_ns = 2 * TICK_NS, .rest_ns = TICK_NS, .duty = td_rules_any_duty()}},
		.supply = td_rules_any_supply(1),
		.cable = td_rules_any_cable(),
	};
}

struct variant variant_make(int which)
{
	struct variant variant = {.rules = base()};
	struct td_axis_rules *axis = &variant.rules.axis[0];

	memcpy(variant.causes, causes[which], sizeof(variant.causes));
	axis->way[0] = stroke();
	axis->way[1] = stroke();
	switch (which) {
	case VARIANT_ENDS:
		variant.name = "two end switches";
		variant.rules.switches = 3;
		axis->way[0] = ended(SW_LOW);
		axis->way[1] = ended(SW_HIGH);
		break;
	case VARIANT_ONE_END:
		variant.name = "one end switch";
		variant.rules.switches = 2;
		axis->way[0] = ended(SW_LOW);
		break;
	case VARIANT_RESTORED:
		variant.name = "no end switch, restored";
		axis->restored_ns = 3 * TICK_NS;
		break;
	case VARIANT_STROKE:
	default: variant.name = "no end switch"; break;
	}
	return variant;
}
