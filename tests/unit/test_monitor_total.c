/* SPDX-License-Identifier: MIT */
/* The monitor stands what should never be: rules nobody checked, times out of range, crowds. Doubt is a breach. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

#define UP   ON(RULE_BOOM, 1)
#define DOWN ON(RULE_BOOM, 0)

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
};

static enum td_breach step(struct bench *bench, struct td_event event, uint32_t outputs)
{
	td_monitor_see(&bench->monitor, &bench->rules, &event);
	(void)td_monitor_judge(&bench->monitor, &bench->rules, event.at_ns, outputs, &bench->verdict);
	return bench->verdict.breach;
}

static enum td_breach ask(struct bench *bench, int at_ms, uint32_t session, uint8_t axis, uint8_t way,
			  uint32_t outputs)
{
	const struct td_event event = {.kind = TD_EVENT_REQUEST,
				       .at_ns = TD_MS(at_ms),
				       .axis = axis,
				       .way = way,
				       .session = session,
				       .hold = (uint32_t)at_ms,
				       .lease_ns = TD_MS(1500)};

	return step(bench, event, outputs);
}

static enum td_breach at(struct bench *bench, int at_ms, uint32_t outputs)
{
	return step(bench, (struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_MS(at_ms)}, outputs);
}

static enum td_breach levels(struct bench *bench, int at_ms, uint32_t active, uint32_t outputs)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS, .at_ns = TD_MS(at_ms)};

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&bench->rules, sw, (active >> sw & 1) != 0))
			event.levels |= UINT32_C(1) << sw;
	return step(bench, event, outputs);
}

static void begin(struct bench *bench)
{
	td_monitor_init(&bench->monitor, &bench->rules, 0);
	levels(bench, 0, 0, 0);
	step(bench, (struct td_event){.kind = TD_EVENT_ARM}, 0);
}

static void more_axes_than_there_can_be_count_as_the_most_there_can_be(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.axes = 255;
	bench.rules.switches = 255;
	bench.rules.axis[TD_AXES_MAX - 1] = bench.rules.axis[RULE_WHEEL];
	begin(&bench);
	assert_int_equal(at(&bench, 1000, ON(TD_AXES_MAX - 1, 1)), TD_BREACH_NOT_ASKED);
	assert_int_equal(bench.verdict.axis, TD_AXES_MAX - 1);
}

static void r17_a_condition_that_names_nothing_is_never_met(void **state)
{
	static const struct td_bar bars[] = {
		{TD_BAR_MOVING, 200, 0},
		{TD_BAR_MOVING, RULE_AXES, 0},
		{TD_BAR_AT_END, RULE_VENT, TD_WAYS},
		{TD_BAR_AT_END, RULE_VENT, 7},
		{TD_BAR_OFF_END, RULE_WHEEL, 0},
	};
	static struct bench bench;

	(void)state;
	for (size_t i = 0; i < sizeof(bars) / sizeof(bars[0]); i++) {
		bench.rules = rule_cart();
		bench.rules.axis[RULE_BOOM].way[1].bar[0] = bars[i];
		begin(&bench);
		assert_int_equal(ask(&bench, 1000, 1, RULE_BOOM, 1, UP), TD_BREACH_BARRED);
	}
}

static void r17_more_conditions_than_there_can_be_count_as_the_most_there_can_be(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.axis[RULE_BOOM].way[1].bars = 255;
	for (int i = 0; i < TD_BARS_MAX; i++)
		bench.rules.axis[RULE_BOOM].way[1].bar[i] = (struct td_bar){TD_BAR_AT_END, RULE_VENT, 0};
	begin(&bench);
	assert_int_equal(ask(&bench, 1000, 1, RULE_BOOM, 1, UP), TD_BREACH_NONE);
	assert_int_equal(ask(&bench, 1100, 1, RULE_WHEEL, 1, UP | ON(RULE_WHEEL, 1)), TD_BREACH_NONE);
}

/* Which way an axis rolls that never went anywhere, nobody knows: every way it has. */
static void r17_what_may_roll_either_way_is_disturbed_by_both(void **state)
{
	static const struct {
		uint8_t last_way, way_that_needs;
		enum td_breach breach;
	} rows[] = {{TD_NO_WAY, 0, TD_BREACH_DISTURBS},
		    {TD_NO_WAY, 1, TD_BREACH_DISTURBS},
		    {TD_WAYS, 0, TD_BREACH_DISTURBS},
		    {TD_WAYS, 1, TD_BREACH_DISTURBS},
		    {0, 0, TD_BREACH_DISTURBS},
		    {1, 1, TD_BREACH_DISTURBS},
		    {0, 1, TD_BREACH_NONE},
		    {1, 0, TD_BREACH_NONE}};
	static struct bench bench;

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_way_rules *way;

		bench.rules = rule_cart();
		way = &bench.rules.axis[RULE_VENT].way[rows[i].way_that_needs];
		bench.rules.axis[RULE_VENT].way[0].bars = 0;
		way->bars = 1;
		way->bar[0] = (struct td_bar){TD_BAR_MOVING, RULE_WHEEL, TD_NO_WAY};
		begin(&bench);
		bench.monitor.axis[RULE_VENT].last_way = rows[i].last_way;
		bench.monitor.axis[RULE_VENT].cut_ns = TD_MS(900);
		assert_int_equal(ask(&bench, 1000, 1, RULE_WHEEL, 1, ON(RULE_WHEEL, 1)), rows[i].breach);
	}
	/* powered, it goes the one way it is powered for */
	for (uint8_t on = 0; on < TD_WAYS; on++) {
		begin(&bench);
		bench.monitor.axis[RULE_VENT].last_way = on;
		bench.rules.axis[RULE_VENT].way[1].bars = 1;
		bench.rules.axis[RULE_VENT].way[1].bar[0] =
			(struct td_bar){TD_BAR_MOVING, RULE_WHEEL, TD_NO_WAY};
		bench.rules.axis[RULE_VENT].way[0].bars = 0;
		assert_int_equal(ask(&bench, 1000, 1, RULE_VENT, on, ON(RULE_VENT, on)), TD_BREACH_NONE);
		assert_int_equal(ask(&bench, 1300, 2, RULE_WHEEL, 1, ON(RULE_VENT, on) | ON(RULE_WHEEL, 1)),
				 on == 1 ? TD_BREACH_DISTURBS : TD_BREACH_NONE);
	}
}

static void r4_without_a_ratio_going_back_gives_everything_back(void **state)
{
	static const td_ns reach_ns[][TD_WAYS] = {
		{0, TD_MS(100)}, {TD_MS(100), 0}, {TD_S(601), TD_MS(100)}, {TD_MS(100), TD_S(601)}, {-1, -1}};
	static struct bench bench;

	(void)state;
	for (size_t i = 0; i < sizeof(reach_ns) / sizeof(reach_ns[0]); i++) {
		bench.rules = rule_cart();
		for (int way = 0; way < TD_WAYS; way++)
			bench.rules.axis[RULE_BOOM].way[way].reach_ns = reach_ns[i][way];
		begin(&bench);
		assert_int_equal(ask(&bench, 1000, 1, RULE_BOOM, 1, UP), TD_BREACH_NONE);
		assert_int_equal(ask(&bench, 2400, 1, RULE_BOOM, 0, 0), TD_BREACH_NONE);
		assert_int_equal(at(&bench, 2700, DOWN), TD_BREACH_NONE);
		assert_int_equal(ask(&bench, 2710, 1, RULE_BOOM, 1, 0), TD_BREACH_NONE);
		assert_int_equal(at(&bench, 3000, UP), TD_BREACH_NONE);
		assert_int_equal(at(&bench, 4200, UP), TD_BREACH_NONE);
	}
}

static void a_time_that_means_never_is_no_time(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	begin(&bench);
	assert_int_equal(ask(&bench, 1000, 1, RULE_DRIVE, 1, ON(RULE_DRIVE, 1)), TD_BREACH_NONE);
	assert_int_equal(
		step(&bench, (struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_NEVER}, ON(RULE_DRIVE, 1)),
		TD_BREACH_NONE);
	assert_int_equal(bench.monitor.now_ns, TD_MS(1000));
	td_monitor_init(&bench.monitor, &bench.rules, -5);
	assert_int_equal(bench.monitor.now_ns, 0);
}

static void r11_a_trip_and_the_other_way_in_one_step(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.axis[RULE_BOOM].way[1].limit_ns = TD_MS(1000);
	begin(&bench);
	assert_int_equal(ask(&bench, 1000, 1, RULE_BOOM, 1, UP), TD_BREACH_NONE);
	assert_int_equal(at(&bench, 2000, DOWN), TD_BREACH_TRIPPED);
}

static void r11_a_reset_of_the_first_axis_that_does_not_exist_touches_nothing(void **state)
{
	static struct bench bench;
	struct td_event reset = {.kind = TD_EVENT_RESET, .at_ns = TD_MS(1000), .axis = RULE_AXES};

	(void)state;
	bench.rules = rule_cart();
	begin(&bench);
	struct td_monitor_axis before = bench.monitor.axis[RULE_AXES];

	for (reset.role = 0; reset.role < 3; reset.role++) {
		assert_int_equal(step(&bench, reset, 0), TD_BREACH_NONE);
		assert_memory_equal(&bench.monitor.axis[RULE_AXES], &before, sizeof(before));
	}
}

static void r4_a_run_of_many_travels_gives_everything_back(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.axis[RULE_WHEEL].way[0].limit_ns = TD_S(60);
	begin(&bench);
	assert_int_equal(ask(&bench, 1000, 1, RULE_WHEEL, 1, ON(RULE_WHEEL, 1)), TD_BREACH_NONE);
	assert_int_equal(ask(&bench, 1500, 1, RULE_WHEEL, 0, 0), TD_BREACH_NONE);
	assert_int_equal(at(&bench, 2000, ON(RULE_WHEEL, 0)), TD_BREACH_NONE);
	assert_int_equal(at(&bench, 9000, 0),
			 TD_BREACH_NONE); /* far beyond its lease, but off when looked at */
	assert_int_equal(ask(&bench, 10000, 1, RULE_WHEEL, 1, ON(RULE_WHEEL, 1)), TD_BREACH_NONE);
	assert_int_equal(at(&bench, 10599, ON(RULE_WHEEL, 1)), TD_BREACH_NONE);
}

static void r2_a_hopeless_request_in_a_crowd_stays_hopeless(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	begin(&bench);
	for (uint32_t session = 1; session <= TD_MONITOR_CLAIMS; session++)
		assert_int_equal(ask(&bench, 100 + (int)session, session, RULE_BOOM, 0, 0), TD_BREACH_NONE);
	assert_int_equal(levels(&bench, 200, AT(RULE_TOP), 0), TD_BREACH_NONE);
	assert_int_equal(ask(&bench, 210, 9, RULE_BOOM, 1, 0), TD_BREACH_NONE);
	assert_int_equal(levels(&bench, 220, 0, 0), TD_BREACH_NONE);
	assert_int_equal(at(&bench, 400, UP), TD_BREACH_HOLD_ENDED);
}

static void rattle(struct bench *bench, int from_ms, int changes, uint8_t sw)
{
	for (int i = 0; i < changes; i++)
		assert_int_equal(levels(bench, from_ms + 25 * i, i % 2 == 0 ? AT(sw) : 0, 0), TD_BREACH_NONE);
}

static void r8_the_most_changes_that_can_be_allowed_are_counted(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.sw[RULE_TOP].chatter = (struct td_chatter_rules){TD_CHATTER_CHANGES_MAX, TD_S(1)};
	begin(&bench);
	rattle(&bench, 1000, TD_CHATTER_CHANGES_MAX, RULE_TOP);
	assert_int_equal(ask(&bench, 1600, 1, RULE_BOOM, 0, DOWN), TD_BREACH_NONE);
	begin(&bench);
	rattle(&bench, 1000, TD_CHATTER_CHANGES_MAX + 1, RULE_TOP);
	assert_int_equal(ask(&bench, 1600, 1, RULE_BOOM, 0, DOWN), TD_BREACH_TRIPPED);
}

static void r8_numbers_of_changes_that_cannot_be_are_never_too_many(void **state)
{
	static const struct td_chatter_rules senseless[] = {
		{0, TD_S(1)}, {UINT8_MAX, TD_S(1)}, {4, -1}, {4, INT64_MIN}};
	static struct bench bench;

	(void)state;
	for (size_t i = 0; i < sizeof(senseless) / sizeof(senseless[0]); i++) {
		bench.rules = rule_cart();
		bench.rules.sw[RULE_TOP].chatter = senseless[i];
		begin(&bench);
		rattle(&bench, 1000, 60, RULE_TOP);
		assert_int_equal(ask(&bench, 3000, 1, RULE_BOOM, 0, DOWN), TD_BREACH_NONE);
	}
}

static void r8_an_end_switch_that_does_not_exist_never_chatters(void **state)
{
	static struct bench bench;
	const struct td_event lost = {.kind = TD_EVENT_LINES_LOST, .at_ns = TD_MS(1000)};
	const struct td_event reset = {
		.kind = TD_EVENT_RESET, .at_ns = TD_MS(1100), .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER};
	const struct td_event armed = {.kind = TD_EVENT_ARM, .at_ns = TD_MS(1100)};

	(void)state;
	bench.rules = rule_cart();
	bench.rules.axis[RULE_BOOM].way[1].end_switch = TD_SWITCHES_MAX;
	bench.rules.stop_switch = TD_SWITCHES_MAX;
	begin(&bench);
	step(&bench, lost, 0);
	levels(&bench, 1100, 0, 0);
	step(&bench, reset, 0);
	step(&bench, armed, 0);
	assert_int_equal(ask(&bench, 1200, 1, RULE_BOOM, 1, UP), TD_BREACH_NONE);
}

static void r13_an_axis_with_a_running_weight_alone_has_a_weight(void **state)
{
	static struct bench bench;

	(void)state;
	bench.rules = rule_cart();
	bench.rules.supply.gap_ns = TD_MS(500);
	bench.rules.supply.axis[RULE_WHEEL].run_ma = bench.rules.supply.axis[RULE_DRIVE].run_ma = 1;
	begin(&bench);
	assert_int_equal(ask(&bench, 1000, 1, RULE_DRIVE, 1, ON(RULE_DRIVE, 1)), TD_BREACH_NONE);
	assert_int_equal(ask(&bench, 1400, 1, RULE_WHEEL, 1, ON(RULE_DRIVE, 1) | ON(RULE_WHEEL, 1)),
			 TD_BREACH_START_GAP);
	assert_int_equal(bench.verdict.measured_ns, TD_MS(400));
	assert_int_equal(bench.verdict.bound_ns, TD_MS(500));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(more_axes_than_there_can_be_count_as_the_most_there_can_be),
		cmocka_unit_test(r17_a_condition_that_names_nothing_is_never_met),
		cmocka_unit_test(r17_more_conditions_than_there_can_be_count_as_the_most_there_can_be),
		cmocka_unit_test(r17_what_may_roll_either_way_is_disturbed_by_both),
		cmocka_unit_test(r4_without_a_ratio_going_back_gives_everything_back),
		cmocka_unit_test(a_time_that_means_never_is_no_time),
		cmocka_unit_test(r11_a_trip_and_the_other_way_in_one_step),
		cmocka_unit_test(r11_a_reset_of_the_first_axis_that_does_not_exist_touches_nothing),
		cmocka_unit_test(r4_a_run_of_many_travels_gives_everything_back),
		cmocka_unit_test(r2_a_hopeless_request_in_a_crowd_stays_hopeless),
		cmocka_unit_test(r8_the_most_changes_that_can_be_allowed_are_counted),
		cmocka_unit_test(r8_numbers_of_changes_that_cannot_be_are_never_too_many),
		cmocka_unit_test(r8_an_end_switch_that_does_not_exist_never_chatters),
		cmocka_unit_test(r13_an_axis_with_a_running_weight_alone_has_a_weight),
	};

	return cmocka_run_group_tests_name("monitor_total", tests, NULL, NULL);
}
