/* SPDX-License-Identifier: MIT */
#include "tests/support/rule_cart.h"

const struct rule_names rule_names = {
	.axis = {"boom", "wheel", "drive", "vent"},
	.way = {{"lower", "raise"}, {"left", "right"}, {"back", "ahead"}, {"close", "open"}},
	.sw = {"bottom", "top", "shut", "open", "stop"},
};

static struct td_way_rules ended(uint8_t end_switch, int travel_ms)
{
	return (struct td_way_rules){
		.end_switch = end_switch,
		.reach_ns = TD_MS(travel_ms),
		.limit_ns = TD_MS(travel_ms) * 130 / 100,
		.early_ns = TD_MS(travel_ms) / 2,
		.leave_ns = TD_MS(500),
	};
}

static struct td_way_rules stroke(int stroke_ms)
{
	return (struct td_way_rules){
		.end_switch = TD_NO_SWITCH,
		.reach_ns = TD_MS(stroke_ms),
		.limit_ns = TD_MS(stroke_ms),
		.leave_ns = TD_MS(500),
	};
}

static void pauses(struct td_axis_rules *axis, int dead_ms, int rest_ms, int restored_ms)
{
	axis->dead_ns = TD_MS(dead_ms);
	axis->rest_ns = TD_MS(rest_ms);
	axis->restored_ns = TD_MS(restored_ms);
	axis->duty = td_rules_any_duty();
}

struct td_rules rule_cart(void)
{
	struct td_rules rules = {.axes = RULE_AXES, .switches = RULE_SWITCHES, .stop_switch = RULE_STOP};

	rules.visitor_resets = RULE_VISITOR_RESETS;

	for (int sw = 0; sw < RULE_SWITCHES; sw++)
		rules.sw[sw] = (struct td_switch_rules){.confirm_ns = TD_MS(2), .clear_ns = TD_MS(50)};
	rules.sw[RULE_OPEN].contact = TD_CONTACT_NO;
	rules.sw[RULE_STOP].confirm_ns = 0;

	pauses(&rules.axis[RULE_BOOM], 250, 200, 0);
	rules.axis[RULE_BOOM].way[0] = ended(RULE_BOTTOM, 1600);
	rules.axis[RULE_BOOM].way[1] = ended(RULE_TOP, 2000);
	rules.axis[RULE_BOOM].way[1].bars = 1;
	rules.axis[RULE_BOOM].way[1].bar[0] = (struct td_bar){TD_BAR_MOVING, RULE_VENT, TD_NO_WAY};

	pauses(&rules.axis[RULE_WHEEL], 150, 100, 0);
	rules.axis[RULE_WHEEL].way[0] = stroke(600);
	rules.axis[RULE_WHEEL].way[1] = stroke(600);

	pauses(&rules.axis[RULE_DRIVE], 400, 300, 2000);
	rules.axis[RULE_DRIVE].way[0] = stroke(20000);
	rules.axis[RULE_DRIVE].way[1] = stroke(20000);

	pauses(&rules.axis[RULE_VENT], 250, 200, 0);
	rules.axis[RULE_VENT].way[0] = ended(RULE_SHUT, 2500);
	rules.axis[RULE_VENT].way[0].bars = 1;
	rules.axis[RULE_VENT].way[0].bar[0] = (struct td_bar){TD_BAR_OFF_END, RULE_BOOM, 0};
	rules.axis[RULE_VENT].way[1] = ended(RULE_OPEN, 2500);
	rules.supply = td_rules_any_supply(RULE_AXES);
	rules.cable = td_rules_any_cable();
	return rules;
}

bool rule_level(const struct td_rules *rules, uint8_t sw, bool active)
{
	return td_switch_reads_active(&rules->sw[sw], true) == active;
}
