/* SPDX-License-Identifier: MIT */
/* What the monitor remembers after each kind of event, of the first axis and the last, and of none beyond. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

enum { LAST = TD_AXES_MAX - 1 };

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	uint8_t behind[sizeof(struct td_monitor_axis)]; /* stays what it is */
	struct td_verdict verdict;
};

static struct bench bench;
static uint8_t guard = 0x5a;

static void begin(void)
{
	memset(&bench, guard, sizeof(bench));
	bench.rules = rule_cart();
	td_monitor_init(&bench.monitor, &bench.rules, TD_S(1));
	bench.monitor.known = true;
	bench.monitor.armed = true;
}

static void see(struct td_event event)
{
	if (event.at_ns == 0)
		event.at_ns = TD_S(2);
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	for (size_t i = 0; i < sizeof(bench.behind); i++)
		assert_int_equal(bench.behind[i], guard);
}

/* A live claim in the first place and the last and in the crowd, of each axis there can be. */
static void everybody_claims(void)
{
	const struct td_monitor_claim claim = {
		.session = 5, .number = 7, .live = true, .covers = true, .until_ns = TD_S(100)};

	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		struct td_monitor_axis *self = &bench.monitor.axis[axis];

		self->claim[0] = claim;
		self->claim[TD_MONITOR_CLAIMS - 1] = claim;
		self->crowd = claim;
	}
}

static bool claims(int axis)
{
	const struct td_monitor_axis *self = &bench.monitor.axis[axis];
	int live = self->claim[0].live + self->claim[TD_MONITOR_CLAIMS - 1].live + self->crowd.live;

	assert_true(live == 0 || live == 3);
	assert_int_equal(self->claim[0].covers, live == 3);
	assert_true(live == 3 || self->ended_ns == bench.monitor.now_ns);
	return live == 3;
}

/* --- the beginning --------------------------------------------------------------------------------- */

static void it_begins_with_everything_off_since_now(void **state)
{
	(void)state;
	begin();
	assert_true(bench.monitor.now_ns == TD_S(1));
	assert_false(bench.monitor.latched);
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		const struct td_monitor_axis *self = &bench.monitor.axis[axis];

		assert_int_equal(self->last_way, TD_NO_WAY);
		assert_int_equal(self->denied_way, TD_NO_WAY);
		assert_true(self->cut_ns == TD_S(1) && self->stop_ns == TD_S(1));
		for (int way = 0; way < TD_WAYS; way++)
			assert_true(!self->way[way].on && self->way[way].low_ns == TD_S(1));
		assert_false(self->tripped);
	}
	td_monitor_init(&bench.monitor, &bench.rules, 1);
	assert_true(bench.monitor.now_ns == 1);
	assert_false(bench.monitor.known || bench.monitor.armed);
	td_monitor_init(&bench.monitor, &bench.rules, -1);
	assert_true(bench.monitor.now_ns == 0);
}

static void r3_the_pauses_after_a_start_count_from_the_start(void **state)
{
	const struct td_event ask = {.kind = TD_EVENT_REQUEST,
				     .at_ns = TD_MS(1399),
				     .axis = RULE_DRIVE,
				     .session = 1,
				     .hold = 1,
				     .lease_ns = TD_MS(1500)};

	(void)state;
	begin();
	see(ask);
	assert_false(td_monitor_judge(&bench.monitor, &bench.rules, 0, ON(RULE_DRIVE, 0), &bench.verdict));
	assert_int_equal(bench.verdict.breach, TD_BREACH_REVERSED);
	assert_int_equal(bench.monitor.outputs, ON(RULE_DRIVE, 0));
	assert_true(bench.verdict.measured_ns == TD_MS(399));
}

/* The core may have decided later than the event came. */
static void a_verdict_is_as_of_the_decision(void **state)
{
	(void)state;
	begin();
	see((struct td_event){.kind = TD_EVENT_TIME});
	assert_true(td_monitor_judge(&bench.monitor, &bench.rules, TD_S(3), 0, &bench.verdict));
	assert_true(bench.verdict.at_ns == TD_S(3));
	assert_true(td_monitor_judge(&bench.monitor, &bench.rules, TD_S(2), 0, &bench.verdict));
	assert_true(bench.verdict.at_ns == TD_S(3));
}

/* --- orders ---------------------------------------------------------------------------------------- */

static void r10_a_latch_ends_and_overtakes_everybody(void **state)
{
	static const enum td_event_kind kinds[] = {TD_EVENT_LATCH, TD_EVENT_LATCH_KEPT};

	(void)state;
	for (int i = 0; i < 2; i++) {
		guard = i == 0 ? 0x5a : 0; /* neither late times nor early ones behind it change */
		begin();
		everybody_claims();
		see((struct td_event){.kind = kinds[i], .heard_ns = TD_MS(1500)});
		assert_true(bench.monitor.latched);
		for (int axis = 0; axis < TD_AXES_MAX; axis++) {
			assert_false(claims(axis));
			assert_true(bench.monitor.axis[axis].stop_ns == TD_MS(1500));
		}
	}
	guard = 0x5a;
}

static void r10_the_stop_input_latches_and_overtakes(void **state)
{
	(void)state;
	begin();
	everybody_claims();
	bench.monitor.sw[RULE_STOP] = (struct td_monitor_switch){true, true, TD_S(1)};
	see((struct td_event){.kind = TD_EVENT_TIME});
	assert_true(bench.monitor.latched);
	assert_false(claims(0) || claims(LAST));
	assert_true(bench.monitor.axis[0].stop_ns == TD_S(2));
	/* once is enough: what is heard later is not overtaken again */
	see((struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_S(3)});
	assert_true(bench.monitor.axis[0].stop_ns == TD_S(2));
}

static void r7_an_older_stop_takes_nothing_back(void **state)
{
	(void)state;
	begin();
	see((struct td_event){.kind = TD_EVENT_STOP, .axis = 0});
	see((struct td_event){.kind = TD_EVENT_STOP, .axis = 0, .heard_ns = TD_MS(1500)});
	assert_true(bench.monitor.axis[0].stop_ns == TD_S(2));
}

static void r7_a_stop_is_for_one_axis_or_all_there_are(void **state)
{
	static const uint8_t all[] = {RULE_AXES, TD_ALL_AXES};

	(void)state;
	for (uint8_t which = 0; which < RULE_AXES; which++) {
		begin();
		everybody_claims();
		see((struct td_event){.kind = TD_EVENT_STOP, .axis = which});
		for (int axis = 0; axis < TD_AXES_MAX; axis++) {
			assert_int_equal(claims(axis), axis != which);
			assert_true(bench.monitor.axis[axis].stop_ns == TD_S(axis == which ? 2 : 1));
		}
	}
	for (size_t i = 0; i < sizeof(all); i++) {
		begin();
		everybody_claims();
		see((struct td_event){.kind = TD_EVENT_STOP, .axis = all[i]});
		for (int axis = 0; axis < TD_AXES_MAX; axis++) {
			assert_int_equal(claims(axis), axis >= RULE_AXES);
			assert_true(bench.monitor.axis[axis].stop_ns == TD_S(axis < RULE_AXES ? 2 : 1));
		}
	}
}

static void r7_who_goes_or_lets_go_ends_what_is_his(void **state)
{
	(void)state;
	begin();
	everybody_claims();
	see((struct td_event){.kind = TD_EVENT_GONE, .session = 5});
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		assert_false(bench.monitor.axis[axis].claim[0].live);
		assert_false(bench.monitor.axis[axis].claim[TD_MONITOR_CLAIMS - 1].live);
		assert_true(bench.monitor.axis[axis].crowd.live); /* nobody knows who is in it */
	}
	begin();
	everybody_claims();
	see((struct td_event){.kind = TD_EVENT_RELEASE, .axis = RULE_AXES, .session = 5, .hold = 7});
	see((struct td_event){.kind = TD_EVENT_RELEASE, .axis = TD_ALL_AXES, .session = 5, .hold = 7});
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		assert_true(claims(axis));
	see((struct td_event){.kind = TD_EVENT_RELEASE, .axis = RULE_AXES - 1, .session = 5, .hold = 7});
	assert_false(bench.monitor.axis[RULE_AXES - 1].claim[0].live);
	assert_false(bench.monitor.axis[RULE_AXES - 1].claim[TD_MONITOR_CLAIMS - 1].live);
	assert_true(claims(0));
}

static void r7_a_lease_ends_with_its_last_nanosecond(void **state)
{
	(void)state;
	begin();
	everybody_claims();
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		bench.monitor.axis[axis].crowd.until_ns = TD_S(3);
	see((struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_S(3) - 1});
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		assert_true(bench.monitor.axis[axis].crowd.live);
	see((struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_S(4)});
	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		assert_false(bench.monitor.axis[axis].crowd.live);
		assert_true(bench.monitor.axis[axis].claim[0].live);
		assert_true(bench.monitor.axis[axis].ended_ns == TD_S(3));
	}
}

/* --- arming, lines --------------------------------------------------------------------------------- */

static void r14_arming_overtakes_what_was_heard_before(void **state)
{
	(void)state;
	begin();
	bench.monitor.armed = false;
	see((struct td_event){.kind = TD_EVENT_ARM});
	assert_true(bench.monitor.armed);
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		assert_true(bench.monitor.axis[axis].stop_ns == TD_S(2));
	begin();
	bench.monitor.armed = false;
	bench.monitor.known = false;
	see((struct td_event){.kind = TD_EVENT_ARM});
	assert_false(bench.monitor.armed);
	assert_true(bench.monitor.axis[0].stop_ns == TD_S(1));
}

static void r14_disarming_ends_everybody(void **state)
{
	(void)state;
	begin();
	everybody_claims();
	see((struct td_event){.kind = TD_EVENT_DISARM});
	assert_false(bench.monitor.armed);
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		assert_false(claims(axis));
}

static void r15_lost_lines_disarm_and_trip_each_axis_there_is(void **state)
{
	(void)state;
	begin();
	everybody_claims();
	see((struct td_event){.kind = TD_EVENT_LINES_LOST});
	assert_false(bench.monitor.armed || bench.monitor.known);
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		assert_int_equal(bench.monitor.axis[axis].tripped, axis < RULE_AXES);
		assert_int_equal(claims(axis), axis >= RULE_AXES);
	}
	assert_true(bench.monitor.axis[0].fresh_trip);
	assert_int_equal(bench.monitor.axis[0].trip, TD_BREACH_TRIPPED);
	/* fresh is only the step it happened in */
	see((struct td_event){.kind = TD_EVENT_TIME});
	for (int axis = 0; axis < RULE_AXES; axis++)
		assert_false(bench.monitor.axis[axis].fresh_trip);
}

static void r3_a_write_is_for_each_axis_that_was_cut(void **state)
{
	(void)state;
	begin();
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		bench.monitor.axis[axis].unwritten = axis != 1;
		bench.monitor.axis[axis].way[axis % 2].fell = true;
	}
	see((struct td_event){.kind = TD_EVENT_WRITTEN});
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		assert_false(bench.monitor.axis[axis].unwritten);
		assert_true(bench.monitor.axis[axis].cut_ns == TD_S(axis == 1 ? 1 : 2));
		assert_true(bench.monitor.axis[axis].way[axis % 2].low_ns == TD_S(2));
		assert_true(bench.monitor.axis[axis].way[1 - axis % 2].low_ns == TD_S(1));
	}
}

/* --- resets ---------------------------------------------------------------------------------------- */

static void everything_tripped(void)
{
	begin();
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		bench.monitor.axis[axis].tripped = true;
		for (int way = 0; way < TD_WAYS; way++)
			bench.monitor.axis[axis].way[way].least_ns = TD_MS(100 + way);
	}
}

static void reset(uint8_t axis, enum td_role role)
{
	see((struct td_event){.kind = TD_EVENT_RESET, .axis = axis, .role = role});
}

static void check_tripped(int axis, bool is)
{
	const struct td_monitor_axis *self = &bench.monitor.axis[axis];

	assert_int_equal(self->tripped, !is);
	assert_true(self->stop_ns == TD_S(is ? 2 : 1));
	for (int way = 0; way < TD_WAYS; way++)
		assert_true(self->way[way].least_ns == (is ? 0 : TD_MS(100 + way)));
}

static void check_reset(int axis, bool is)
{
	check_tripped(axis, is);
	assert_true(bench.monitor.axis[axis].doubt_ns == (is ? TD_S(2) : 0));
}

static void r11_a_reset_is_the_keepers_for_one_axis_or_all(void **state)
{
	(void)state;
	everything_tripped();
	reset(TD_ALL_AXES, TD_ROLE_VISITOR);
	reset(RULE_AXES, TD_ROLE_KEEPER);
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		check_reset(axis, false);
	reset(TD_ALL_AXES, TD_ROLE_KEEPER);
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		check_reset(axis, axis < RULE_AXES);
	for (uint8_t which = 0; which < RULE_AXES; which++) {
		everything_tripped();
		reset(which, TD_ROLE_KEEPER);
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			check_reset(axis, axis == which);
	}
}

static void r11_an_axis_that_is_on_is_not_reset(void **state)
{
	(void)state;
	for (int way = 0; way < TD_WAYS; way++) {
		everything_tripped();
		bench.monitor.axis[RULE_WHEEL].way[way].on = true;
		bench.monitor.axis[RULE_WHEEL].way[way].counted_ns = TD_S(2);
		reset(TD_ALL_AXES, TD_ROLE_KEEPER);
		check_tripped(RULE_WHEEL, false);
		/* There may have been a lock to reset, which overtakes. */
		assert_true(bench.monitor.axis[RULE_WHEEL].doubt_ns == TD_S(2));
		check_reset(RULE_DRIVE, true);
	}
}

static void r8_with_both_ends_active_a_trip_stays(void **state)
{
	(void)state;
	everything_tripped();
	bench.monitor.sw[RULE_BOTTOM] = (struct td_monitor_switch){true, true, TD_S(1)};
	reset(RULE_BOOM, TD_ROLE_KEEPER);
	assert_false(bench.monitor.axis[RULE_BOOM].tripped);
	everything_tripped();
	bench.monitor.sw[RULE_BOTTOM] = (struct td_monitor_switch){true, true, TD_S(1)};
	bench.monitor.sw[RULE_TOP] = (struct td_monitor_switch){true, true, TD_S(1)};
	reset(RULE_BOOM, TD_ROLE_KEEPER);
	assert_true(bench.monitor.axis[RULE_BOOM].tripped);
	assert_true(bench.monitor.axis[RULE_BOOM].stop_ns == TD_S(1));
	assert_true(bench.monitor.axis[RULE_BOOM].doubt_ns == TD_S(2));
}

/* Whether there was anything to reset is known to the core alone: what was heard before is in doubt, not overtaken. */
static void r11_a_reset_of_nothing_leaves_a_doubt(void **state)
{
	(void)state;
	begin();
	reset(RULE_DRIVE, TD_ROLE_KEEPER);
	assert_true(bench.monitor.axis[RULE_DRIVE].stop_ns == TD_S(1));
	assert_true(bench.monitor.axis[RULE_DRIVE].doubt_ns == TD_S(2));
	assert_true(bench.monitor.axis[RULE_BOOM].doubt_ns == 0);
}

static void r10_only_a_reset_of_all_ends_the_latch_and_overtakes(void **state)
{
	(void)state;
	begin();
	bench.monitor.latched = true;
	reset(RULE_DRIVE, TD_ROLE_KEEPER);
	assert_true(bench.monitor.latched);
	reset(TD_ALL_AXES, TD_ROLE_KEEPER);
	assert_false(bench.monitor.latched);
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		assert_true(bench.monitor.axis[axis].stop_ns == TD_S(2));
	begin(); /* no latch: nothing overtaken */
	reset(TD_ALL_AXES, TD_ROLE_KEEPER);
	assert_true(bench.monitor.axis[LAST].stop_ns == TD_S(1));
	assert_true(bench.monitor.axis[0].stop_ns == TD_S(1));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_begins_with_everything_off_since_now),
		cmocka_unit_test(r3_the_pauses_after_a_start_count_from_the_start),
		cmocka_unit_test(a_verdict_is_as_of_the_decision),
		cmocka_unit_test(r10_a_latch_ends_and_overtakes_everybody),
		cmocka_unit_test(r10_the_stop_input_latches_and_overtakes),
		cmocka_unit_test(r7_an_older_stop_takes_nothing_back),
		cmocka_unit_test(r7_a_stop_is_for_one_axis_or_all_there_are),
		cmocka_unit_test(r7_who_goes_or_lets_go_ends_what_is_his),
		cmocka_unit_test(r7_a_lease_ends_with_its_last_nanosecond),
		cmocka_unit_test(r14_arming_overtakes_what_was_heard_before),
		cmocka_unit_test(r14_disarming_ends_everybody),
		cmocka_unit_test(r15_lost_lines_disarm_and_trip_each_axis_there_is),
		cmocka_unit_test(r3_a_write_is_for_each_axis_that_was_cut),
		cmocka_unit_test(r11_a_reset_is_the_keepers_for_one_axis_or_all),
		cmocka_unit_test(r11_an_axis_that_is_on_is_not_reset),
		cmocka_unit_test(r8_with_both_ends_active_a_trip_stays),
		cmocka_unit_test(r11_a_reset_of_nothing_leaves_a_doubt),
		cmocka_unit_test(r10_only_a_reset_of_all_ends_the_latch_and_overtakes),
	};

	return cmocka_run_group_tests_name("monitor_state", tests, NULL, NULL);
}
