/* SPDX-License-Identifier: MIT */
/* Rules that limit nothing. */
#include "core/rules.h"

struct td_duty_rules td_rules_any_duty(void)
{
	struct td_duty_rules duty = {
		.inf_ppm = TD_RATING_LIMIT_PPM,
		.tau_on_ns = TD_S(600),
		.tau_off_ns = TD_S(600),
		.restart_ppm = TD_RATING_LIMIT_PPM,
		.least_ns = TD_DUTY_LEAST_MIN_NS,
	};

	for (int span = 0; span < TD_BUDGET_SPANS; span++)
		duty.allowed_ns[span] = td_budget_span_ns((enum td_budget_span)span);
	return duty;
}

struct td_cable_rules td_rules_any_cable(void)
{
	return (struct td_cable_rules){
		.twist = {.source = TD_TWIST_UNLIMITED},
		.drive = TD_NO_AXIS,
		.steering = TD_NO_AXIS,
		.left = TD_NO_WAY,
		.contact = {TD_NO_SWITCH, TD_NO_SWITCH},
	};
}

struct td_supply_rules td_rules_any_supply(uint8_t axes)
{
	return (struct td_supply_rules){.axes = axes, .budget_ma = TD_SUPPLY_WEIGHT_MAX_MA};
}
