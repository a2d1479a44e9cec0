/* SPDX-License-Identifier: MIT */
/* What status shows of an axis, in every state. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/core.h"
#include "tests/support/rule_cart.h"

enum { NOW_MS = 5000 };

static struct td_core core_with(struct td_axis axis)
{
	struct td_rules rules = rule_cart();
	struct td_core core;

	td_core_init(&core, &rules, 0);
	core.axis[RULE_BOOM] = axis;
	core.sw[RULE_TOP].active = true;
	return core;
}

static struct td_axis axis_in(enum td_axis_state state)
{
	return (struct td_axis){.state = state,
				.way = state == TD_AXIS_RUN || state == TD_AXIS_WAIT ? 1 : TD_NO_WAY,
				.last_way = 0,
				.since_ns = TD_MS(4800),
				.cut_ns = TD_MS(4900),
				.hold = {7, 70, 3, TD_MS(5300)}};
}

static struct td_axis_view view_of(struct td_axis axis)
{
	struct td_rules rules = rule_cart();
	struct td_core core = core_with(axis);
	struct td_axis_view view;

	memset(&view, 0xff, sizeof(view));
	td_core_view(&core, &rules, RULE_BOOM, TD_MS(NOW_MS), &view);
	return view;
}

static void assert_held_by_seven(const struct td_axis_view *view)
{
	assert_int_equal(view->way, 1);
	assert_int_equal(view->lease_left_ns, TD_MS(300));
	assert_int_equal(view->session, 7);
	assert_int_equal(view->hold, 70);
}

static void assert_held_by_nobody(const struct td_axis_view *view)
{
	assert_int_equal(view->way, TD_NO_WAY);
	assert_int_equal(view->lease_left_ns, 0);
	assert_int_equal(view->session, 0);
	assert_int_equal(view->hold, 0);
}

static void a_running_axis_shows_who_holds_it_and_for_how_long(void **state)
{
	struct td_axis_view view = view_of(axis_in(TD_AXIS_RUN));

	(void)state;
	assert_int_equal(view.state, TD_AXIS_RUN);
	assert_int_equal(view.trip, TD_CAUSE_NONE);
	assert_held_by_seven(&view);
	assert_true(view.moving);
	assert_int_equal(view.wait_left_ns, 0);
}

/* Cut at 4900 ms the other way: the dead time is 250 ms. */
static void r3_a_waiting_axis_shows_how_long_it_waits(void **state)
{
	struct td_axis_view view = view_of(axis_in(TD_AXIS_WAIT));

	(void)state;
	assert_int_equal(view.state, TD_AXIS_WAIT);
	assert_held_by_seven(&view);
	assert_int_equal(view.wait_left_ns, TD_MS(150));
}

/* The rest time is 200 ms. */
static void r3_a_coasting_axis_shows_its_rest(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_COAST);
	struct td_axis_view view = view_of(axis);

	(void)state;
	assert_int_equal(view.state, TD_AXIS_COAST);
	assert_held_by_nobody(&view);
	assert_true(view.moving);
	assert_int_equal(view.wait_left_ns, TD_MS(100));
	axis.cut_ns = TD_MS(4000);
	view = view_of(axis);
	assert_false(view.moving);
	assert_int_equal(view.wait_left_ns, 0);
}

static void r11_a_tripped_axis_shows_its_cause(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_TRIPPED);

	(void)state;
	axis.trip = TD_CAUSE_WRONG_END;
	struct td_axis_view view = view_of(axis);

	assert_int_equal(view.state, TD_AXIS_TRIPPED);
	assert_int_equal(view.trip, TD_CAUSE_WRONG_END);
	assert_held_by_nobody(&view);
	assert_int_equal(view.wait_left_ns, 0);
}

static void a_place_and_the_ends_are_shown(void **state)
{
	struct td_axis axis = axis_in(TD_AXIS_STILL);

	(void)state;
	struct td_axis_view view = view_of(axis);

	assert_int_equal(view.position_ppm, -1);
	assert_false(view.at_end[0]);
	assert_true(view.at_end[1]);
	assert_int_equal(view.wait_left_ns, 0);
	axis.located = true;
	axis.spent_ns[1] = TD_MS(500);
	view = view_of(axis);
	assert_int_equal(view.position_ppm, 250000);
}

static void each_end_is_shown_by_its_own_switch(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_core core = core_with(axis_in(TD_AXIS_STILL));
	struct td_axis_view view;

	(void)state;
	core.sw[RULE_TOP].active = false;
	core.sw[RULE_BOTTOM].active = true;
	td_core_view(&core, &rules, RULE_BOOM, TD_MS(NOW_MS), &view);
	assert_true(view.at_end[0]);
	assert_false(view.at_end[1]);
}

static void an_axis_that_does_not_exist_is_shown_as_tripped(void **state)
{
	static const uint8_t none[] = {RULE_AXES, TD_AXES_MAX - 1, TD_AXES_MAX, TD_ALL_AXES, TD_NO_AXIS};
	struct td_rules rules = rule_cart();
	struct td_core core = core_with(axis_in(TD_AXIS_RUN));

	(void)state;
	for (size_t i = 0; i < sizeof(none) / sizeof(none[0]); i++) {
		struct td_axis_view view;

		memset(&view, 0xff, sizeof(view));
		td_core_view(&core, &rules, none[i], TD_MS(NOW_MS), &view);
		assert_int_equal(view.state, TD_AXIS_TRIPPED);
		assert_int_equal(view.trip, TD_CAUSE_INTERNAL);
		assert_int_equal(view.position_ppm, -1);
		assert_held_by_nobody(&view);
		assert_false(view.moving || view.at_end[0] || view.at_end[1]);
	}
}

static void the_active_switches_are_told_as_bits(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_core core;

	(void)state;
	td_core_init(&core, &rules, 0);
	assert_int_equal(td_core_active(&core, &rules), 0);
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		core.sw[sw].active = true;
	assert_int_equal(td_core_active(&core, &rules), (1U << RULE_SWITCHES) - 1);
	core.sw[RULE_BOTTOM].active = false;
	assert_int_equal(td_core_active(&core, &rules), (1U << RULE_SWITCHES) - 2);
	rules.switches = 255;
	assert_true(td_core_active(&core, &rules) == UINT32_MAX - 1);
}

static void r8_the_switches_that_chatter_are_told_as_bits(void **state)
{
	struct td_rules rules = rule_cart();
	struct td_core core;

	(void)state;
	td_core_init(&core, &rules, 0);
	assert_int_equal(td_core_chatters(&core, &rules), 0);
	core.chatter[0].marked = true;
	core.chatter[RULE_TOP].marked = true;
	core.chatter[RULE_SWITCHES].marked = true;
	core.chatter[TD_SWITCHES_MAX - 1].marked = true;
	assert_int_equal(td_core_chatters(&core, &rules), 1U | 1U << RULE_TOP);
	rules.switches = 255;
	assert_true(td_core_chatters(&core, &rules) ==
		    (1U | 1U << RULE_TOP | 1U << RULE_SWITCHES | 1U << 31));
}

static void r14_a_core_begins_off_and_knows_nothing(void **state)
{
	static const struct {
		td_ns start_ns, now_ns;
	} rows[] = {{TD_MS(3), TD_MS(3)}, {1, 1}, {0, 0}, {-1, 0}, {INT64_MIN, 0}};
	struct td_rules rules = rule_cart();
	struct td_core core;

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		memset(&core, 0xff, sizeof(core));
		td_core_init(&core, &rules, rows[i].start_ns);
		assert_int_equal(core.now_ns, rows[i].now_ns);
		assert_false(core.armed || core.levels_known);
		assert_int_equal(core.latch, 0);
		for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
			assert_int_equal(core.stop_ns[axis], rows[i].now_ns);
			assert_int_equal(core.axis[axis].cut_ns, rows[i].now_ns);
			assert_int_equal(core.axis[axis].state, TD_AXIS_COAST);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_running_axis_shows_who_holds_it_and_for_how_long),
		cmocka_unit_test(r3_a_waiting_axis_shows_how_long_it_waits),
		cmocka_unit_test(r3_a_coasting_axis_shows_its_rest),
		cmocka_unit_test(r11_a_tripped_axis_shows_its_cause),
		cmocka_unit_test(a_place_and_the_ends_are_shown),
		cmocka_unit_test(each_end_is_shown_by_its_own_switch),
		cmocka_unit_test(an_axis_that_does_not_exist_is_shown_as_tripped),
		cmocka_unit_test(the_active_switches_are_told_as_bits),
		cmocka_unit_test(r8_the_switches_that_chatter_are_told_as_bits),
		cmocka_unit_test(r14_a_core_begins_off_and_knows_nothing),
	};

	return cmocka_run_group_tests_name("core_view", tests, NULL, NULL);
}
