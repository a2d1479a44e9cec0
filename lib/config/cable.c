/* SPDX-License-Identifier: MIT */
#include "config/cable.h"

#include "config/value.h"

enum { MS_PPM = 1000000000 }; /* a turn in one millisecond, in millionths of a turn a second */

static int64_t number(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].number;
}

/* Axis and way that a pair names. */
static void find_way(struct td_draft *draft, const struct td_draft_section *twist, enum td_key key,
		     uint8_t *axis, uint8_t *way)
{
	td_name names[TD_WAYS];

	td_value_pair(twist->value[key].text, names);
	*axis = (uint8_t)td_draft_index(draft, td_draft_find(draft, TD_SECTION_AXIS, names[0], ""));
	*way = td_draft_way_index(draft, td_draft_find(draft, TD_SECTION_WAY, names[0], names[1]));
}

static int32_t rate_ppm_s(const struct td_draft_section *twist, enum td_key circle_ms)
{
	int64_t ms = number(twist, circle_ms);

	return (int32_t)((MS_PPM + ms / 2) / ms);
}

/* Back along the same curve is the same turn the other way. */
static void build_rates(const struct td_draft_section *twist, uint8_t ahead, struct td_twist_rules *rules)
{
	int32_t left = rate_ppm_s(twist, TD_KEY_TWIST_CIRCLE_LEFT_MS);
	int32_t right = rate_ppm_s(twist, TD_KEY_TWIST_CIRCLE_RIGHT_MS);

	rules->rate_ppm_s[ahead][TD_TWIST_LEFT] = left;
	rules->rate_ppm_s[ahead][TD_TWIST_RIGHT] = -right;
	rules->rate_ppm_s[1 - ahead][TD_TWIST_LEFT] = -left;
	rules->rate_ppm_s[1 - ahead][TD_TWIST_RIGHT] = right;
}

static void build_sensor(struct td_draft *draft, const struct td_draft_section *twist,
			 struct td_cable_rules *cable)
{
	td_name names[TD_WAYS];

	td_value_pair(twist->value[TD_KEY_TWIST_CONTACTS].text, names);
	for (int i = 0; i < 2; i++)
		cable->contact[i] =
			(uint8_t)td_draft_index(draft, td_draft_find(draft, TD_SECTION_SWITCH, names[i], ""));
	cable->twist.steps_per_turn = (int32_t)number(twist, TD_KEY_TWIST_STEPS_PER_TURN);
}

struct td_cable_rules td_cable_build(struct td_draft *draft)
{
	const struct td_draft_section *twist = td_draft_next(draft, TD_SECTION_TWIST, NULL);
	struct td_cable_rules cable = td_rules_any_cable();
	uint8_t ahead = TD_NO_WAY;

	cable.twist.source = (enum td_twist_source)number(twist, TD_KEY_TWIST_SOURCE);
	if (cable.twist.source == TD_TWIST_UNLIMITED)
		return cable;
	find_way(draft, twist, TD_KEY_TWIST_AHEAD, &cable.drive, &ahead);
	find_way(draft, twist, TD_KEY_TWIST_LEFT, &cable.steering, &cable.left);
	cable.springs = (uint8_t)number(twist, TD_KEY_TWIST_STEERING);
	cable.twist.limit_uturn = (int32_t)(number(twist, TD_KEY_TWIST_LIMIT_DEGREES) * 1000000 / 360);
	build_rates(twist, ahead, &cable.twist);
	if (cable.twist.source == TD_TWIST_SENSOR)
		build_sensor(draft, twist, &cable);
	else
		cable.twist.doubt_ppm = (uint32_t)number(twist, TD_KEY_TWIST_DOUBT_PERCENT) * 10000;
	return cable;
}

td_ns td_cable_step_ns(const struct td_draft_section *twist)
{
	int64_t left_ms = number(twist, TD_KEY_TWIST_CIRCLE_LEFT_MS);
	int64_t right_ms = number(twist, TD_KEY_TWIST_CIRCLE_RIGHT_MS);
	int64_t steps = number(twist, TD_KEY_TWIST_STEPS_PER_TURN);

	return steps > 0 ? TD_MS(left_ms < right_ms ? left_ms : right_ms) / steps : 0;
}
