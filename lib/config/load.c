/* SPDX-License-Identifier: MIT */
#include "config/load.h"

static int64_t number(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].number;
}

static td_ns seconds(const struct td_draft_section *section, enum td_key key)
{
	return TD_S(number(section, key));
}

static uint32_t intermittent_ppm(const struct td_draft_section *axis)
{
	const struct td_rating_s3 rating = {
		.factor_ppm = (uint32_t)number(axis, TD_KEY_AXIS_DUTY_PERCENT) * 10000,
		.cycle_ns = seconds(axis, TD_KEY_AXIS_DUTY_CYCLE_S),
		.tau_on_ns = seconds(axis, TD_KEY_AXIS_HEATING_S),
		.tau_off_ns = seconds(axis, TD_KEY_AXIS_COOLING_S),
	};

	return td_rating_s3_ppm(&rating);
}

uint32_t td_load_inf_ppm(const struct td_draft_section *axis)
{
	if (number(axis, TD_KEY_AXIS_DUTY) == TD_DUTY_S2)
		return td_rating_s2_ppm(seconds(axis, TD_KEY_AXIS_DUTY_TIME_S),
					seconds(axis, TD_KEY_AXIS_HEATING_S));
	return intermittent_ppm(axis);
}

struct td_duty_rules td_load_duty(const struct td_draft_section *axis)
{
	struct td_duty_rules duty = td_rules_any_duty();

	if (number(axis, TD_KEY_AXIS_DUTY) != TD_DUTY_S1) {
		duty.inf_ppm = td_load_inf_ppm(axis);
		duty.tau_on_ns = seconds(axis, TD_KEY_AXIS_HEATING_S);
		duty.tau_off_ns = seconds(axis, TD_KEY_AXIS_COOLING_S);
		duty.restart_ppm = (uint32_t)number(axis, TD_KEY_AXIS_RESTART_PERCENT) * 10000;
	}
	duty.allowed_ns[TD_BUDGET_MINUTE] = seconds(axis, TD_KEY_AXIS_MINUTE_S);
	duty.allowed_ns[TD_BUDGET_TEN_MINUTES] = seconds(axis, TD_KEY_AXIS_TEN_MINUTES_S);
	duty.allowed_ns[TD_BUDGET_DAY] = seconds(axis, TD_KEY_AXIS_DAY_S);
	return duty;
}

struct td_supply_axis_rules td_load_weight(const struct td_draft_section *axis)
{
	return (struct td_supply_axis_rules){
		.start_ma = (uint32_t)number(axis, TD_KEY_AXIS_START_MA),
		.run_ma = (uint32_t)number(axis, TD_KEY_AXIS_RUN_MA),
		.start_ns = TD_MS(number(axis, TD_KEY_AXIS_START_WINDOW_MS)),
	};
}
