/* SPDX-License-Identifier: MIT */
#include <inttypes.h>

#include "config/check.h"
#include "config/load.h"

static bool good(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].good;
}

static int64_t number(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].number;
}

static void check_weight(const struct td_draft_section *machine, const struct td_draft_section *axis,
			 struct td_report *report)
{
	if (!good(axis, TD_KEY_AXIS_START_MA) || !good(axis, TD_KEY_AXIS_RUN_MA))
		return;
	int64_t start = number(axis, TD_KEY_AXIS_START_MA);
	int64_t run = number(axis, TD_KEY_AXIS_RUN_MA);

	if (start < run)
		td_report_add(report, td_draft_line(axis, TD_KEY_AXIS_RUN_MA),
			      "run_ma = %" PRId64 " is more than start_ma = %" PRId64
			      "; a motor draws most while it starts: give start_ma at least as much",
			      run, start);
	if (good(machine, TD_KEY_MACHINE_SUPPLY_MA) && start > number(machine, TD_KEY_MACHINE_SUPPLY_MA))
		td_report_add(report, td_draft_line(axis, TD_KEY_AXIS_START_MA),
			      "start_ma = %" PRId64 " is more than supply_ma = %" PRId64
			      ": the axis could never start; use a supply that bears it",
			      start, number(machine, TD_KEY_MACHINE_SUPPLY_MA));
}

/* All that the rating of this axis is made of has passed its own check. */
static bool is_rated(const struct td_draft_section *axis)
{
	if (!good(axis, TD_KEY_AXIS_DUTY) || !good(axis, TD_KEY_AXIS_HEATING_S))
		return false;
	if (number(axis, TD_KEY_AXIS_DUTY) == TD_DUTY_S2)
		return good(axis, TD_KEY_AXIS_DUTY_TIME_S);
	return number(axis, TD_KEY_AXIS_DUTY) == TD_DUTY_S3 && good(axis, TD_KEY_AXIS_DUTY_PERCENT) &&
	       good(axis, TD_KEY_AXIS_DUTY_CYCLE_S) && good(axis, TD_KEY_AXIS_COOLING_S);
}

static void check_duty(const struct td_draft_section *axis, struct td_report *report)
{
	if (is_rated(axis) && td_load_inf_ppm(axis) == 0)
		td_report_add(
			report, td_draft_line(axis, TD_KEY_AXIS_DUTY),
			"this duty is too short for heating_s: the winding model cannot express it; allowed: "
			"about a thousandth of heating_s or more; use minute_s and ten_minutes_s instead");
}

void td_check_load(struct td_draft *draft, struct td_report *report)
{
	const struct td_draft_section *machine = td_draft_next(draft, TD_SECTION_MACHINE, NULL);
	const struct td_draft_section *axis = NULL;

	while ((axis = td_draft_next(draft, TD_SECTION_AXIS, axis))) {
		check_weight(machine, axis, report);
		check_duty(axis, report);
	}
}
