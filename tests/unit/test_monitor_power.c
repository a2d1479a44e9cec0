/* SPDX-License-Identifier: MIT */
/* How the monitor counts powered time, from both sides of what it can know, and what it takes for a trip. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

/* Counts far from any limit. */
#define BIG TD_S(10000)

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
};

static struct bench bench;

static struct td_monitor_axis *axis(uint8_t index)
{
	return &bench.monitor.axis[index];
}

/* Armed, with these switches active since long, everything at rest. */
static void begin(uint32_t active)
{
	memset(&bench, 0x5a, sizeof(bench));
	bench.rules = rule_cart();
	td_monitor_init(&bench.monitor, &bench.rules, 0);
	bench.monitor.known = true;
	bench.monitor.armed = true;
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		bench.monitor.sw[sw] =
			(struct td_monitor_switch){(active >> sw & 1) != 0, (active >> sw & 1) != 0, 0};
}

/* An event at this time, and the outputs after it. */
static enum td_breach step(enum td_event_kind kind, td_ns at_ns, uint32_t outputs)
{
	const struct td_event event = {.kind = kind, .at_ns = at_ns, .axis = TD_NO_AXIS, .session = 99};

	td_monitor_see(&bench.monitor, &bench.rules, &event);
	(void)td_monitor_judge(&bench.monitor, &bench.rules, at_ns, outputs, &bench.verdict);
	return bench.verdict.breach;
}

static enum td_breach levels(td_ns at_ns, uint32_t active, uint32_t outputs)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS, .at_ns = at_ns};

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&bench.rules, sw, (active >> sw & 1) != 0))
			event.levels |= UINT32_C(1) << sw;
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	(void)td_monitor_judge(&bench.monitor, &bench.rules, at_ns, outputs, &bench.verdict);
	return bench.verdict.breach;
}

/* --- what one way is worth in the other ------------------------------------------------------------ */

/*
 * A run one way, of a way with `own` and the other with `other` for a whole stroke. What it gives back of the other is
 * more than span x other / own for the lower bound and less for the upper one, each by a few microseconds.
 */
static void r6_a_run_gives_back_a_little_more_and_a_little_less_than_its_share(void **state)
{
	enum { ALL = -1 };
	static const struct {
		td_ns own_ns, other_ns, span_ns, at_most_us, at_least_us;
	} rows[] = {
		/* (span + 1) (other + 1) / own + 1, and span (other - 1) / (own + 1), in whole microseconds */
		{TD_MS(600), TD_MS(600), TD_MS(300), 300002, 299999},
		{TD_MS(600), TD_MS(600), TD_MS(600) - TD_US(1), 600002, 599997},
		{TD_MS(600), TD_MS(600), TD_MS(600), 600003, 599999},
		{TD_MS(600), TD_MS(600), TD_MS(900), 900003, 599999},
		{TD_MS(600), TD_MS(1800), TD_MS(100), 300004, 299999},
		{TD_MS(1800), TD_MS(600), TD_MS(100), 33334, 33333},
		{TD_MS(10), TD_MS(10), TD_US(9), 11, 8},
		{TD_MS(10), TD_MS(10), TD_MS(100) - 1, 100011, 9999},
		{TD_MS(10), TD_MS(10), TD_MS(100), ALL, 9999},
		{TD_MS(10), TD_S(600), TD_MS(10) - TD_US(1), 600000002, 599880010},
		{TD_S(600), TD_MS(10), TD_S(600), 10002, 9999},
		{TD_US(10001), TD_US(10001), 999, 2, 0},
		{TD_MS(10), TD_MS(20), TD_MS(5) + 999, 10003, 9998},
		{TD_MS(10) + 999, TD_MS(20) + 999, TD_MS(5), 10003, 9998},
		/* no ratio: everything is given back at most, nothing at least */
		{TD_MS(10) - 1, TD_MS(10), TD_MS(1), ALL, 0},
		{TD_MS(10), TD_MS(10) - 1, TD_MS(1), ALL, 0},
		{TD_S(600) + 1, TD_S(600), TD_MS(1), ALL, 0},
		{TD_S(600), TD_S(600) + 1, TD_MS(1), ALL, 0},
		{TD_S(600), TD_S(600), TD_S(300), 300000002, 299999999},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			td_ns expected_ns = rows[i].at_most_us == ALL ? 0 : BIG - TD_US(rows[i].at_most_us);
			struct td_monitor_way *other;

			begin(0);
			other = &axis(RULE_WHEEL)->way[1 - way];
			bench.rules.axis[RULE_WHEEL].way[way].reach_ns = rows[i].own_ns;
			bench.rules.axis[RULE_WHEEL].way[1 - way].reach_ns = rows[i].other_ns;
			bench.rules.axis[RULE_WHEEL].way[way].limit_ns = BIG;
			(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_WHEEL, way));
			other->least_ns = BIG;
			other->most_ns = BIG;
			(void)step(TD_EVENT_TIME, TD_S(1) + rows[i].span_ns, 0);
			assert_true(other->least_ns == expected_ns);
			assert_true(other->most_ns == BIG - TD_US(rows[i].at_least_us));
			assert_true(axis(RULE_WHEEL)->way[way].least_ns == rows[i].span_ns);
			assert_true(axis(RULE_WHEEL)->way[way].most_ns == rows[i].span_ns);
		}
}

/* --- cuts and starts ------------------------------------------------------------------------------- */

static void r3_a_cut_is_remembered_until_it_is_written(void **state)
{
	(void)state;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		begin(0);
		(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_DRIVE, way));
		assert_true(axis(RULE_DRIVE)->way[way].on && axis(RULE_DRIVE)->way[way].rises);
		assert_true(axis(RULE_DRIVE)->way[way].rose_ns == TD_S(1));
		(void)step(TD_EVENT_TIME, TD_S(2), ON(RULE_DRIVE, way));
		assert_false(axis(RULE_DRIVE)->way[way].rises);
		(void)step(TD_EVENT_TIME, TD_S(3), 0);
		assert_false(axis(RULE_DRIVE)->way[way].on);
		assert_true(axis(RULE_DRIVE)->unwritten && axis(RULE_DRIVE)->way[way].fell);
		assert_true(axis(RULE_DRIVE)->cut_ns == TD_S(3));
		assert_int_equal(axis(RULE_DRIVE)->last_way, way);
		(void)step(TD_EVENT_WRITTEN, TD_MS(3005), 0);
		assert_true(axis(RULE_DRIVE)->cut_ns == TD_MS(3005));
		assert_true(axis(RULE_DRIVE)->way[way].low_ns == TD_MS(3005));
		assert_true(axis(RULE_DRIVE)->way[1 - way].low_ns == 0);
		assert_false(axis(RULE_DRIVE)->unwritten || axis(RULE_DRIVE)->way[way].fell);
		(void)step(TD_EVENT_WRITTEN, TD_S(4), 0);
		assert_true(axis(RULE_DRIVE)->cut_ns == TD_MS(3005));
	}
}

/* restored: 2 s; also where it is the shortest there can be. */
static void r6_standing_long_enough_counts_anew(void **state)
{
	static const struct {
		td_ns restored_ns, stood_ns;
		bool anew;
	} rows[] = {
		{TD_S(2), TD_S(2) - 1, false}, {TD_S(2), TD_S(2), true}, {1, 1, true}, {0, TD_S(9), false}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(0);
		bench.rules.axis[RULE_DRIVE].restored_ns = rows[i].restored_ns;
		axis(RULE_DRIVE)->cut_ns = TD_S(1);
		axis(RULE_DRIVE)->way[0].least_ns = BIG;
		axis(RULE_DRIVE)->way[1].least_ns = BIG;
		(void)step(TD_EVENT_TIME, TD_S(1) + rows[i].stood_ns, ON(RULE_DRIVE, 1));
		assert_true(axis(RULE_DRIVE)->way[0].least_ns == (rows[i].anew ? 0 : BIG));
		assert_true(axis(RULE_DRIVE)->way[1].least_ns == (rows[i].anew ? 0 : BIG));
	}
}

/* A stroke that is used up, exactly and not quite: the other way begins anew. */
static void r6_a_whole_stroke_gives_the_other_one_back(void **state)
{
	(void)state;
	for (int less_ns = 0; less_ns < 2; less_ns++) {
		begin(0);
		axis(RULE_WHEEL)->way[1].least_ns = TD_S(100);
		(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_WHEEL, 0));
		(void)step(TD_EVENT_TIME, TD_S(1) + TD_MS(600) - less_ns, 0);
		assert_int_equal(axis(RULE_WHEEL)->way[1].least_ns == 0, less_ns == 0);
		assert_true(axis(RULE_WHEEL)->way[0].least_ns == TD_MS(600) - less_ns);
	}
	begin(0);
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_WHEEL, 0));
	(void)step(TD_EVENT_TIME, TD_S(2), 0);
	assert_true(axis(RULE_WHEEL)->way[0].least_ns == TD_MS(600)); /* at most once */
	assert_true(axis(RULE_WHEEL)->way[0].most_ns == TD_MS(600));  /* nor more than that at its stop */
	begin(0); /* with an end switch nothing is bounded, and nothing begins anew */
	axis(RULE_VENT)->way[0].least_ns = TD_S(100);
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_VENT, 1));
	(void)step(TD_EVENT_STOP, TD_S(9), 0);
	assert_true(axis(RULE_VENT)->way[1].least_ns == TD_S(8));
	assert_true(axis(RULE_VENT)->way[0].least_ns > TD_S(91));
}

/* --- ends ------------------------------------------------------------------------------------------ */

/* Each end of each axis: the powered time of both ways begins anew, that of the other axis does not. */
static void r4_each_end_counts_anew_for_its_own_axis(void **state)
{
	static const struct {
		uint8_t sw, of, way, other;
	} rows[] = {{RULE_BOTTOM, RULE_BOOM, 0, RULE_VENT},
		    {RULE_TOP, RULE_BOOM, 1, RULE_VENT},
		    {RULE_SHUT, RULE_VENT, 0, RULE_BOOM},
		    {RULE_OPEN, RULE_VENT, 1, RULE_BOOM}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(0);
		for (int way = 0; way < TD_WAYS; way++) {
			axis(rows[i].of)->way[way] = (struct td_monitor_way){.least_ns = BIG, .most_ns = BIG};
			axis(rows[i].other)->way[way] =
				(struct td_monitor_way){.least_ns = BIG, .most_ns = BIG};
		}
		assert_int_equal(levels(TD_S(1), AT(rows[i].sw), 0), TD_BREACH_NONE);
		assert_true(axis(rows[i].of)->way[0].least_ns == BIG); /* not confirmed yet */
		assert_int_equal(step(TD_EVENT_TIME, TD_MS(1002), 0), TD_BREACH_NONE);
		assert_int_equal(bench.monitor.rose, AT(rows[i].sw));
		assert_true(axis(rows[i].of)->way[0].least_ns == 0 && axis(rows[i].of)->way[1].least_ns == 0);
		assert_true(axis(rows[i].of)->way[1 - rows[i].way].most_ns == 0);
		assert_true(axis(rows[i].of)->way[rows[i].way].most_ns ==
			    bench.rules.axis[rows[i].of].way[rows[i].way].reach_ns);
		assert_true(axis(rows[i].other)->way[0].least_ns == BIG);
		assert_true(axis(rows[i].other)->way[1].least_ns == BIG);
	}
}

/* On either way: what ran before the end does not count any more, what runs after it does. */
static void r4_an_end_that_is_met_while_on_counts_from_there(void **state)
{
	(void)state;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		begin(0);
		axis(RULE_BOOM)->cut_ns = TD_S(1); /* it may be rolling */
		bench.rules.axis[RULE_BOOM].rest_ns = TD_S(9);
		(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_BOOM, way));
		(void)levels(TD_MS(1700), AT(way == 0 ? RULE_TOP : RULE_BOTTOM), ON(RULE_BOOM, way));
		(void)step(TD_EVENT_TIME, TD_MS(1702), ON(RULE_BOOM, way));
		assert_false(axis(RULE_BOOM)->tripped);
		assert_true(axis(RULE_BOOM)->way[way].counted_ns == TD_MS(1702));
		assert_true(axis(RULE_BOOM)->way[way].least_ns == 0);
		(void)step(TD_EVENT_STOP, TD_MS(1800), 0);
		assert_true(axis(RULE_BOOM)->way[way].least_ns == TD_MS(98));
	}
}

/* Two ends in one step are both seen, confirmed together or at first sight. */
static void r4_two_ends_in_one_step_are_both_seen(void **state)
{
	(void)state;
	for (int first = 0; first < 2; first++) {
		begin(0);
		bench.monitor.known = first == 0;
		for (int way = 0; way < TD_WAYS; way++) {
			axis(RULE_BOOM)->way[way].least_ns = BIG;
			axis(RULE_VENT)->way[way].least_ns = BIG;
		}
		(void)levels(TD_S(1), AT(RULE_TOP) | AT(RULE_OPEN), 0);
		if (!first)
			(void)step(TD_EVENT_TIME, TD_MS(1002), 0);
		assert_int_equal(bench.monitor.rose, AT(RULE_TOP) | AT(RULE_OPEN));
		assert_true(axis(RULE_BOOM)->way[1].least_ns == 0 && axis(RULE_VENT)->way[0].least_ns == 0);
		(void)step(TD_EVENT_TIME, TD_MS(1003), 0);
		assert_int_equal(bench.monitor.rose, 0);
	}
}

/* Driving up for so long when the bottom becomes active: the wrong end, unless it may still be leaving it, or roll. */
static void r8_the_wrong_end_is_one_that_cannot_be_left_or_rolled_into(void **state)
{
	static const struct {
		td_ns ran_ns, stood_ns;
		uint8_t last_way;
		enum td_event_kind kind;
		bool trips;
	} rows[] = {
		{TD_MS(500), TD_S(9), TD_NO_WAY, TD_EVENT_TIME, true},
		{TD_MS(500) - 1, TD_S(9), TD_NO_WAY, TD_EVENT_TIME, false},
		{TD_MS(500), TD_S(9), 0, TD_EVENT_TIME, true},
		{TD_MS(500), 0, 1, TD_EVENT_TIME, true},
		{TD_MS(500), 0, 0, TD_EVENT_TIME, true}, /* it has run for longer than the rest */
		{TD_MS(500), TD_S(9), TD_NO_WAY, TD_EVENT_STOP, false},
		{TD_MS(500), TD_S(9), TD_NO_WAY, TD_EVENT_RELEASE, false},
		{TD_MS(500), TD_S(9), TD_NO_WAY, TD_EVENT_GONE, false},
		{TD_MS(500), TD_S(9), TD_NO_WAY, TD_EVENT_WRITTEN, true},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(0);
		axis(RULE_BOOM)->cut_ns = TD_S(10) - rows[i].stood_ns;
		axis(RULE_BOOM)->last_way = rows[i].last_way;
		(void)step(TD_EVENT_TIME, TD_S(10), ON(RULE_BOOM, 1));
		(void)levels(TD_S(10) + rows[i].ran_ns - TD_MS(2), AT(RULE_BOTTOM), ON(RULE_BOOM, 1));
		assert_false(axis(RULE_BOOM)->tripped);
		(void)step(rows[i].kind, TD_S(10) + rows[i].ran_ns, ON(RULE_BOOM, 1));
		assert_int_equal(axis(RULE_BOOM)->tripped, rows[i].trips);
		assert_true(!rows[i].trips || bench.verdict.breach == TD_BREACH_WRONG_END);
	}
}

/* With a rest of a second and no time to leave: only what goes the other way, or has stood, is not rolling. */
static void r8_what_rolls_on_into_an_end_is_no_wrong_end(void **state)
{
	static const struct {
		td_ns since_cut_ns;
		uint8_t last_way;
		bool trips;
	} rows[] = {{TD_S(1), 0, true},
		    {TD_S(1) - 1, 0, false},
		    {TD_S(1) - 1, 1, true},
		    {TD_S(1) - 1, TD_NO_WAY, false},
		    {TD_S(1) - 1, TD_WAYS, false},
		    {TD_S(1), TD_NO_WAY, true}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(0);
		bench.rules.axis[RULE_BOOM].rest_ns = TD_S(1);
		bench.rules.axis[RULE_BOOM].way[1].leave_ns = 0;
		axis(RULE_BOOM)->cut_ns = TD_S(5);
		axis(RULE_BOOM)->last_way = rows[i].last_way;
		(void)step(TD_EVENT_TIME, TD_S(5) + TD_MS(100), ON(RULE_BOOM, 1));
		(void)levels(TD_S(5) + rows[i].since_cut_ns - TD_MS(2), AT(RULE_BOTTOM), ON(RULE_BOOM, 1));
		(void)step(TD_EVENT_TIME, TD_S(5) + rows[i].since_cut_ns, ON(RULE_BOOM, 1));
		assert_int_equal(axis(RULE_BOOM)->tripped, rows[i].trips);
	}
}

/* Both inputs high are another breach: no end is the wrong one then. */
static void r8_with_both_inputs_high_no_end_is_the_wrong_one(void **state)
{
	(void)state;
	begin(0);
	(void)step(TD_EVENT_TIME, TD_S(10), ON(RULE_BOOM, 0) | ON(RULE_BOOM, 1));
	(void)levels(TD_S(12), AT(RULE_TOP), ON(RULE_BOOM, 0) | ON(RULE_BOOM, 1));
	(void)step(TD_EVENT_TIME, TD_S(13), ON(RULE_BOOM, 0) | ON(RULE_BOOM, 1));
	assert_false(axis(RULE_BOOM)->tripped);
}

/* --- trips that are deduced ------------------------------------------------------------------------ */

/* The boom was on, up, for so long, and is off after this event. */
static void ran_up(td_ns ran_ns, uint32_t active, enum td_event_kind kind)
{
	begin(active);
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_BOOM, 1));
	(void)step(kind, TD_S(1) + ran_ns, 0);
}

static void r11_power_that_ended_with_its_limit_was_a_trip(void **state)
{
	static const struct {
		td_ns ran_ns;
		uint32_t active;
		enum td_event_kind kind;
		enum td_breach trip; /* NONE: none */
	} rows[] = {
		{TD_MS(2600), 0, TD_EVENT_TIME, TD_BREACH_TRAVEL_TIME},
		{TD_MS(2600) - 1, 0, TD_EVENT_TIME, TD_BREACH_NONE},
		{TD_MS(2600), 0, TD_EVENT_STOP, TD_BREACH_NONE},
		{TD_MS(2600), 0, TD_EVENT_RELEASE, TD_BREACH_NONE},
		{TD_MS(2600), 0, TD_EVENT_GONE, TD_BREACH_NONE},
		{TD_MS(2600), AT(RULE_TOP), TD_EVENT_TIME, TD_BREACH_NONE},
		{TD_MS(2600), AT(RULE_BOTTOM), TD_EVENT_TIME, TD_BREACH_LEAVE_TIME},
		{TD_MS(500), AT(RULE_BOTTOM), TD_EVENT_TIME, TD_BREACH_LEAVE_TIME},
		{TD_MS(500) - 1, AT(RULE_BOTTOM), TD_EVENT_TIME, TD_BREACH_NONE},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		ran_up(rows[i].ran_ns, rows[i].active, rows[i].kind);
		assert_int_equal(axis(RULE_BOOM)->tripped, rows[i].trip != TD_BREACH_NONE);
		assert_true(rows[i].trip == TD_BREACH_NONE || axis(RULE_BOOM)->trip == rows[i].trip);
	}
	begin(0); /* without an end switch the limit is a stroke, and no trip */
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_WHEEL, 0));
	(void)step(TD_EVENT_TIME, TD_S(3), 0);
	assert_false(axis(RULE_WHEEL)->tripped);
	begin(0); /* nor where the number of the switch is one too many */
	bench.rules.axis[RULE_WHEEL].way[0].end_switch = TD_SWITCHES_MAX;
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_WHEEL, 0));
	(void)step(TD_EVENT_TIME, TD_S(3), 0);
	assert_false(axis(RULE_WHEEL)->tripped);
}

static void r11_a_trip_is_fresh_once(void **state)
{
	(void)state;
	begin(AT(RULE_BOTTOM));
	(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_BOOM, 1));
	(void)levels(TD_MS(1100), AT(RULE_BOTTOM) | AT(RULE_TOP), ON(RULE_BOOM, 1));
	assert_int_equal(step(TD_EVENT_TIME, TD_MS(1102), ON(RULE_BOOM, 1)), TD_BREACH_BOTH_ENDS);
	assert_int_equal(step(TD_EVENT_TIME, TD_MS(1103), ON(RULE_BOOM, 1)), TD_BREACH_TRIPPED);
	assert_int_equal(axis(RULE_BOOM)->trip, TD_BREACH_BOTH_ENDS);
	/* and where it starts in the step of the trip, it is the start that is wrong */
	begin(0);
	(void)levels(TD_MS(1000), AT(RULE_BOTTOM) | AT(RULE_TOP), 0);
	assert_int_equal(step(TD_EVENT_TIME, TD_MS(1002), ON(RULE_BOOM, 1)), TD_BREACH_TRIPPED);
}

static void r17_moving_is_on_either_way_or_not_yet_at_rest(void **state)
{
	(void)state;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		begin(0);
		(void)step(TD_EVENT_TIME, TD_S(1), ON(RULE_VENT, way));
		axis(RULE_VENT)->cut_ns = 0; /* long ago */
		(void)step(TD_EVENT_TIME, TD_MS(1900), ON(RULE_VENT, way) | ON(RULE_BOOM, 1));
		bench.rules.axis[RULE_VENT].way[0].bars = 0;
		axis(RULE_VENT)->claim[0] = axis(RULE_BOOM)->claim[0] =
			(struct td_monitor_claim){.live = true, .covers = true, .until_ns = TD_S(50)};
		assert_int_equal(step(TD_EVENT_TIME, TD_MS(1950), ON(RULE_VENT, way) | ON(RULE_BOOM, 1)),
				 TD_BREACH_BARRED);
		assert_int_equal(bench.verdict.axis, RULE_BOOM);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r6_a_run_gives_back_a_little_more_and_a_little_less_than_its_share),
		cmocka_unit_test(r3_a_cut_is_remembered_until_it_is_written),
		cmocka_unit_test(r6_standing_long_enough_counts_anew),
		cmocka_unit_test(r6_a_whole_stroke_gives_the_other_one_back),
		cmocka_unit_test(r4_each_end_counts_anew_for_its_own_axis),
		cmocka_unit_test(r4_an_end_that_is_met_while_on_counts_from_there),
		cmocka_unit_test(r4_two_ends_in_one_step_are_both_seen),
		cmocka_unit_test(r8_the_wrong_end_is_one_that_cannot_be_left_or_rolled_into),
		cmocka_unit_test(r8_what_rolls_on_into_an_end_is_no_wrong_end),
		cmocka_unit_test(r8_with_both_inputs_high_no_end_is_the_wrong_one),
		cmocka_unit_test(r11_power_that_ended_with_its_limit_was_a_trip),
		cmocka_unit_test(r11_a_trip_is_fresh_once),
		cmocka_unit_test(r17_moving_is_on_either_way_or_not_yet_at_rest),
	};

	return cmocka_run_group_tests_name("monitor_power", tests, NULL, NULL);
}
