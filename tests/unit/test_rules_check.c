/* SPDX-License-Identifier: MIT */
/* The contract of the rule set: each number at its bounds and just outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/rule_cart.h"

static void the_cart_is_valid(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_OK);
}

struct bound {
	const char *name;
	size_t offset; /* of a td_ns in struct td_rules */
	td_ns min_ns, max_ns;
	enum td_rules_fault fault;
};

#define AXIS(field) offsetof(struct td_rules, axis[RULE_WHEEL].field)
#define BOOM(field) offsetof(struct td_rules, axis[RULE_BOOM].field)
static void m14_a_warning_of_slower_travels_needs_an_end_and_a_share_in_range(void **state)
{
	static const struct td_trend_rules warns = {200000, 100000, 3};
	static const struct td_trend_rules most = {TD_TREND_SLOWER_MAX_PPM, TD_TREND_SLOWER_MAX_PPM,
						   TD_TREND_NEEDED_MAX};
	static const struct td_trend_rules beyond = {TD_TREND_SLOWER_MAX_PPM + 1, 0, 3};
	static const struct td_trend_rules upside_down = {100000, 100001, 3};
	struct td_rules rules = rule_cart();
	struct td_way_rules *boom = &rules.axis[RULE_BOOM].way[1];
	struct td_way_rules *wheel = &rules.axis[RULE_WHEEL].way[0];

	(void)state;
	boom->trend = warns;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_OK);
	boom->trend = most;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_OK);
	boom->trend = beyond;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_TREND);
	boom->trend = upside_down;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_TREND);
	assert_int_equal(td_rules_check(&rules).way, 1);
	rules = rule_cart();
	wheel->trend = warns;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_TREND);
	assert_int_equal(td_rules_check(&rules).axis, RULE_WHEEL);
}

static void r8_chatter_is_watched_within_bounds_or_not_at_all(void **state)
{
	static const struct {
		struct td_chatter_rules chatter;
		enum td_rules_fault fault;
	} rows[] = {
		{{0, 0}, TD_RULES_OK},
		{{0, 1}, TD_RULES_CHATTER},
		{{0, TD_CHATTER_WINDOW_MIN_NS}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MIN, TD_CHATTER_WINDOW_MIN_NS}, TD_RULES_OK},
		{{TD_CHATTER_CHANGES_MAX, TD_CHATTER_WINDOW_MAX_NS}, TD_RULES_OK},
		{{TD_CHATTER_CHANGES_MIN - 1, TD_CHATTER_WINDOW_MIN_NS}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MAX + 1, TD_CHATTER_WINDOW_MIN_NS}, TD_RULES_CHATTER},
		{{UINT8_MAX, TD_CHATTER_WINDOW_MIN_NS}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MIN, TD_CHATTER_WINDOW_MIN_NS - 1}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MIN, TD_CHATTER_WINDOW_MAX_NS + 1}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MIN, INT64_MAX}, TD_RULES_CHATTER},
		{{TD_CHATTER_CHANGES_MIN, INT64_MIN}, TD_RULES_CHATTER},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_rules rules = rule_cart();

		rules.sw[RULE_TOP].chatter = rows[i].chatter;
		struct td_rules_verdict verdict = td_rules_check(&rules);

		assert_int_equal(verdict.fault, rows[i].fault);
		assert_int_equal(verdict.sw, rows[i].fault == TD_RULES_OK ? TD_NO_SWITCH : RULE_TOP);
	}
}

#define SW(field) offsetof(struct td_rules, sw[RULE_TOP].field)

static const struct bound bounds[] = {
	{"dead", AXIS(dead_ns), TD_DEAD_TIME_MIN_NS, TD_DEAD_TIME_MAX_NS, TD_RULES_DEAD_TIME},
	{"rest", AXIS(rest_ns), TD_REST_MIN_NS, TD_REST_MAX_NS, TD_RULES_REST},
	{"restored", AXIS(restored_ns), 0, TD_RESTORED_MAX_NS, TD_RULES_RESTORED},
	{"restored with an end", BOOM(restored_ns), 0, 0, TD_RULES_RESTORED},
	{"limit", AXIS(way[0].limit_ns), TD_MS(600), TD_MS(6000), TD_RULES_LIMIT},
	{"early", BOOM(way[0].early_ns), 0, TD_MS(1600) - 1, TD_RULES_EARLY},
	{"early without an end", AXIS(way[0].early_ns), 0, 0, TD_RULES_EARLY},
	{"leave", BOOM(way[1].leave_ns), TD_LEAVE_MIN_NS, TD_LEAVE_MAX_NS, TD_RULES_LEAVE},
	{"confirm", SW(confirm_ns), 0, TD_CONFIRM_MAX_NS, TD_RULES_CONFIRM},
	{"least run of a duty", AXIS(duty.least_ns), TD_DUTY_LEAST_MIN_NS, TD_DUTY_LEAST_MAX_NS,
	 TD_RULES_DUTY},
	{"start gap", offsetof(struct td_rules, supply.gap_ns), 0, TD_SUPPLY_GAP_MAX_NS, TD_RULES_SUPPLY},
	{"clear", SW(clear_ns), TD_CLEAR_MIN_NS, TD_CLEAR_MAX_NS, TD_RULES_CONFIRM},
};

static enum td_rules_fault with(const struct bound *bound, td_ns value_ns)
{
	struct td_rules rules = rule_cart();

	memcpy((char *)&rules + bound->offset, &value_ns, sizeof(value_ns));
	return td_rules_check(&rules).fault;
}

static void each_time_is_held_to_its_bounds(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(bounds) / sizeof(bounds[0]); i++) {
		const struct bound *bound = &bounds[i];

		assert_int_equal(with(bound, bound->min_ns), TD_RULES_OK);
		assert_int_equal(with(bound, bound->max_ns), TD_RULES_OK);
		assert_int_equal(with(bound, bound->min_ns - 1), bound->fault);
		assert_int_equal(with(bound, bound->max_ns + 1), bound->fault);
		assert_int_equal(with(bound, INT64_MIN), bound->fault);
		assert_int_equal(with(bound, INT64_MAX), bound->fault);
	}
}

static void a_reach_is_held_to_its_bounds(void **state)
{
	static const struct {
		td_ns reach_ns;
		enum td_rules_fault fault;
	} rows[] = {{TD_REACH_MIN_NS, TD_RULES_OK},
		    {TD_REACH_MIN_NS - 1, TD_RULES_REACH},
		    {TD_REACH_MAX_NS, TD_RULES_OK},
		    {TD_REACH_MAX_NS + 1, TD_RULES_REACH},
		    {0, TD_RULES_REACH},
		    {INT64_MAX, TD_RULES_REACH}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_rules rules = rule_cart();

		rules.axis[RULE_WHEEL].way[1].reach_ns = rows[i].reach_ns;
		rules.axis[RULE_WHEEL].way[1].limit_ns = rows[i].reach_ns;
		assert_int_equal(td_rules_check(&rules).fault, rows[i].fault);
	}
}

static void numbers_of_things_are_bounded(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	rules.axes = 0;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_AXES);
	rules.axes = TD_AXES_MAX + 1;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_AXES);
	rules = rule_cart();
	rules.supply.axes = RULE_AXES - 1;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_SUPPLY);
	rules = rule_cart();
	rules.switches = TD_SWITCHES_MAX + 1;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_SWITCHES);
	rules = rule_cart();
	rules.stop_switch = RULE_SWITCHES;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_STOP_SWITCH);
}

static void r11_visitors_resets_are_bounded(void **state)
{
	(void)state;
	for (unsigned int resets = 0; resets <= UINT8_MAX; resets++) {
		struct td_rules rules = rule_cart();

		rules.visitor_resets = (uint8_t)resets;
		assert_int_equal(td_rules_check(&rules).fault,
				 resets <= 60 ? TD_RULES_OK : TD_RULES_VISITOR_RESETS);
	}
}

static void an_end_switch_has_one_user_and_exists(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	rules.axis[RULE_BOOM].way[0].end_switch = RULE_TOP;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_END_SWITCH);
	rules = rule_cart();
	rules.axis[RULE_VENT].way[0].end_switch = RULE_BOTTOM;
	struct td_rules_verdict verdict = td_rules_check(&rules);

	assert_int_equal(verdict.fault, TD_RULES_END_SWITCH);
	assert_int_equal(verdict.axis, RULE_BOOM);
	rules = rule_cart();
	rules.axis[RULE_BOOM].way[0].end_switch = RULE_STOP;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_END_SWITCH);
	rules.axis[RULE_BOOM].way[0].end_switch = RULE_SWITCHES;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_END_SWITCH);
}

static void a_bar_names_another_axis_and_a_real_end(void **state)
{
	static const struct td_bar bad[] = {
		{TD_BAR_MOVING, RULE_BOOM, TD_NO_WAY}, {TD_BAR_MOVING, RULE_AXES, TD_NO_WAY},
		{TD_BAR_AT_END, RULE_WHEEL, 0},        {TD_BAR_OFF_END, RULE_VENT, 2},
		{(enum td_bar_kind)7, RULE_VENT, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_rules rules = rule_cart();

		rules.axis[RULE_BOOM].way[1].bar[0] = bad[i];
		assert_int_equal(td_rules_check(&rules).fault, TD_RULES_BAR);
	}
	struct td_rules rules = rule_cart();

	rules.axis[RULE_BOOM].way[1].bars = TD_BARS_MAX + 1;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_BAR);
}

static void contact_and_pull_are_known(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	rules.sw[0].contact = (enum td_contact)2;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_CONFIRM);
	rules = rule_cart();
	rules.sw[0].pull = (enum td_pull)2;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_CONFIRM);
}

/* Drive and wheel; the contacts of a sensor are `open` and `stop`, taken from what they served. */
static struct td_rules with_cable(enum td_twist_source source)
{
	struct td_rules rules = rule_cart();

	rules.cable = (struct td_cable_rules){
		.twist = {.source = source, .limit_uturn = 1000000, .steps_per_turn = 8},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
		.contact = {RULE_OPEN, RULE_STOP},
	};
	if (source == TD_TWIST_SENSOR) {
		rules.stop_switch = TD_NO_SWITCH;
		rules.axis[RULE_VENT].way[1].end_switch = TD_NO_SWITCH;
		rules.axis[RULE_VENT].way[1].early_ns = 0;
	}
	return rules;
}

static enum td_rules_fault with_cable_byte(enum td_twist_source source, size_t offset, uint8_t value)
{
	struct td_rules rules = with_cable(source);

	memcpy((char *)&rules.cable + offset, &value, 1);
	return td_rules_check(&rules).fault;
}

static void R18_a_cable_names_two_axes_and_two_switches_of_its_own(void **state)
{
	static const struct {
		enum td_twist_source source;
		size_t offset;
		uint8_t value;
		enum td_rules_fault fault;
	} rows[] = {
#define AT(field) offsetof(struct td_cable_rules, field)
		{TD_TWIST_ESTIMATE, AT(drive), RULE_DRIVE, TD_RULES_OK},
		{TD_TWIST_ESTIMATE, AT(drive), RULE_AXES, TD_RULES_CABLE},
		{TD_TWIST_ESTIMATE, AT(steering), RULE_AXES, TD_RULES_CABLE},
		{TD_TWIST_ESTIMATE, AT(steering), RULE_DRIVE, TD_RULES_CABLE},
		{TD_TWIST_ESTIMATE, AT(left), 1, TD_RULES_OK},
		{TD_TWIST_ESTIMATE, AT(left), TD_WAYS, TD_RULES_CABLE},
		{TD_TWIST_ESTIMATE, AT(springs), 1, TD_RULES_OK},
		{TD_TWIST_ESTIMATE, AT(springs), 2, TD_RULES_CABLE},
		{TD_TWIST_ESTIMATE, AT(contact[0]), TD_NO_SWITCH, TD_RULES_OK},
		{TD_TWIST_SENSOR, AT(contact[0]), RULE_OPEN, TD_RULES_OK},
		{TD_TWIST_SENSOR, AT(contact[0]), TD_NO_SWITCH, TD_RULES_CABLE},
		{TD_TWIST_SENSOR, AT(contact[0]), RULE_SWITCHES, TD_RULES_CABLE},
		{TD_TWIST_SENSOR, AT(contact[0]), RULE_STOP, TD_RULES_CABLE},
		{TD_TWIST_SENSOR, AT(contact[1]), RULE_OPEN, TD_RULES_CABLE},
		{TD_TWIST_SENSOR, AT(contact[1]), RULE_TOP, TD_RULES_END_SWITCH},
#undef AT
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_int_equal(with_cable_byte(rows[i].source, rows[i].offset, rows[i].value),
				 rows[i].fault);
	struct td_rules rules = with_cable(TD_TWIST_SENSOR);

	rules.stop_switch = RULE_STOP;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_CABLE);
	rules = with_cable(TD_TWIST_ESTIMATE);
	rules.cable.twist.limit_uturn = 0;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_CABLE);
	rules.cable.twist.source = TD_TWIST_UNLIMITED;
	assert_int_equal(td_rules_check(&rules).fault, TD_RULES_OK);
}

/* xorshift64 (Marsaglia 2003, triple 13-7-17) */
static uint32_t dice(uint64_t *random)
{
	*random ^= *random << 13;
	*random ^= *random >> 7;
	*random ^= *random << 17;
	return (uint32_t)(*random >> 32);
}

static void any_bytes_get_a_verdict(void **state)
{
	(void)state;
	uint64_t random = 1;

	for (int run = 0; run < 2000; run++) {
		struct td_rules rules = rule_cart();
		unsigned char *byte = (unsigned char *)&rules;

		for (int i = 0; i < 20; i++)
			byte[dice(&random) % sizeof(rules)] = (unsigned char)dice(&random);
		/* bool-free struct: every bit pattern is a value */
		(void)td_rules_check(&rules);
	}
	struct td_rules zero;

	memset(&zero, 0, sizeof(zero));
	assert_int_not_equal(td_rules_check(&zero).fault, TD_RULES_OK);
	memset(&zero, 0xff, sizeof(zero));
	assert_int_not_equal(td_rules_check(&zero).fault, TD_RULES_OK);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_cart_is_valid),
		cmocka_unit_test(each_time_is_held_to_its_bounds),
		cmocka_unit_test(a_reach_is_held_to_its_bounds),
		cmocka_unit_test(m14_a_warning_of_slower_travels_needs_an_end_and_a_share_in_range),
		cmocka_unit_test(r8_chatter_is_watched_within_bounds_or_not_at_all),
		cmocka_unit_test(numbers_of_things_are_bounded),
		cmocka_unit_test(r11_visitors_resets_are_bounded),
		cmocka_unit_test(an_end_switch_has_one_user_and_exists),
		cmocka_unit_test(a_bar_names_another_axis_and_a_real_end),
		cmocka_unit_test(contact_and_pull_are_known),
		cmocka_unit_test(R18_a_cable_names_two_axes_and_two_switches_of_its_own),
		cmocka_unit_test(any_bytes_get_a_verdict),
	};

	return cmocka_run_group_tests_name("rules_check", tests, NULL, NULL);
}
