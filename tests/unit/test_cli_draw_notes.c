/* SPDX-License-Identifier: MIT */
/* What tripdog status draws besides the axes: locks, ways that became slower, contacts that chatter, the cable. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/client/draw_twist.h"
#include "tests/unit/cli_page.h"

/* clang-format off */
static void R11_a_locked_way_is_named_and_a_visitors_trip_needs_no_keeper(void **state)
{
	char *page = draw(LOCKED, 80, false, false);

	(void)state;
	assert_non_null(
		strstr(page, " ! boom: the end was not reached in the learned time (R4)\n"
			     "   look for an obstacle, a slipping gear, a dead motor or a switch that never\n"
			     "   closes; then reset:\n"
			     "   tripdog reset boom\n"
			     "\n"
			     " ! boom raise: the way tripped twice in a row and is locked (R11)\n"
			     "   find the reason, then reset the axis as keeper:\n"
			     "   tripdog --keeper reset boom\n"
			     "\n"
			     " ! vent close: the way tripped twice in a row and is locked (R11)\n"
			     "   find the reason, then reset the axis as keeper:\n"
			     "   tripdog --keeper reset vent\n"));
	free(page);
}

static void a_way_that_became_slower_and_a_switch_that_chatters_are_told(void **state)
{
	(void)state;
	expect_page(SLOWED, 80, true,
	            " glasshouse cart                                                          armed\n"
	            "────────────────────────────────────────────────────────────────────────────────\n"
	            " latched stop off\n"
	            "\n"
	            " axis  state         way            position                              lease\n"
	            " boom  still                  lower ■●───────────────────────────□ raise\n"
	            " vent  still                  close □───────────────────────────●■ open\n"
	            "\n"
	            " ■ end switch active   □ clear   ┊ none fitted   ● estimated\n"
	            "\n"
	            " ! boom raise, 23 %: this way takes longer than it used to\n"
	            "   look for wear, dirt, slack or a weak supply before the travel limit trips\n"
	            "\n"
	            " ! vent close: this way takes longer than it used to\n"
	            "   look for wear, dirt, slack or a weak supply before the travel limit trips\n"
	            "\n"
	            " switches: vent_shut CHATTERS\n");
}

static void R14_a_refused_configuration_is_told_as_long_as_the_old_one_is_in_force(void **state)
{
	(void)state;
	expect_page(REFUSED, 80, true,
	            " glasshouse cart                                                          armed\n"
	            "────────────────────────────────────────────────────────────────────────────────\n"
	            " latched stop off\n"
	            "\n"
	            " axis  state         way            position                              lease\n"
	            " boom  still                  lower ■●───────────────────────────□ raise\n"
	            "\n"
	            " ■ end switch active   □ clear   ┊ none fitted   ● estimated\n"
	            "\n"
	            " ! configuration: the new configuration was refused (the log says why), the old\n"
	            "   one is in force (R14)\n"
	            "   mend it, see tripdogd --check-config, and reload\n");
}

static void R18_the_cable_is_drawn_from_left_to_right_with_what_is_blocked(void **state)
{
	(void)state;
	expect_page(TWISTED, 80, true, 
	            " glasshouse cart                                                          armed\n"
	            "────────────────────────────────────────────────────────────────────────────────\n"
	            " latched stop off\n"
	            "\n"
	            " axis   state         way                  position                       lease\n"
	            " drive  still                     backward ┊───── unknown ─────┊ forward\n"
	            " lamp   still                           in □───── unknown ─────□ out\n"
	            " cable  540 deg                       left ┊────────────────●──┊ right\n"
	            "\n"
	            " ■ end switch active   □ clear   ┊ none fitted   ● estimated\n"
	            "\n"
	            " ! forward: driving so would twist the cable beyond its limit (R18)\n"
	            "   drive the other way or steer to the other side; or untwist the cable by hand\n"
	            "   and tell so as keeper:\n"
	            "   tripdog --keeper untwisted\n"
	            "\n"
	            " cable: turned 540 degrees to the right; the limit is 720, less 180 for doubt\n");
	expect_page(TWISTED, 40, false, 
	            " glasshouse cart                  armed\n"
	            "----------------------------------------\n"
	            " latched stop off\n"
	            "\n"
	            " drive  still\n"
	            "   backward :---- unknown -----: forward\n"
	            " lamp   still\n"
	            "         in |---- unknown -----| out\n"
	            " cable  540 deg\n"
	            "       left :---------------o--: right\n"
	            "\n"
	            " ! forward: driving so would twist the\n"
	            "   cable beyond its limit (R18)\n"
	            "   drive the other way or steer to the\n"
	            "   other side; or untwist the cable by\n"
	            "   hand and tell so as keeper:\n"
	            "   tripdog --keeper untwisted\n"
	            "\n"
	            " cable: turned 540 degrees to the right;\n"
	            "   the limit is 720, less 180 for doubt\n");
}

static void R18_the_mark_of_the_cable_stays_between_its_limits(void **state)
{
	static const struct {
		int64_t net, limit;
		int32_t ppm;
		const char *sentence;
	} rows[] = {
		{0, 360, 500000, "turned 0 degrees; the limit is 360, less 7 for doubt"},
		{180, 360, 250000, "turned 180 degrees to the left; the limit is 360, less 7 for doubt"},
		{360, 360, 0, "turned 360 degrees to the left; the limit is 360, less 7 for doubt"},
		{1440000, 360, 0, "turned 1440000 degrees to the left; the limit is 360, less 7 for doubt"},
		{-361, 360, 1000000, "turned 361 degrees to the right; the limit is 360, less 7 for doubt"},
		{0, 0, 500000, "turned 0 degrees; the limit is 0, less 7 for doubt"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		const struct td_view_twist twist = {
			.net_degrees = rows[i].net, .limit_degrees = rows[i].limit, .doubt_degrees = 7};
		char text[TD_TWIST_SENTENCE_MAX];
		char word[TD_TWIST_STATE_MAX];

		assert_int_equal(td_draw_twist_row(&twist, word).position_ppm, rows[i].ppm);
		td_draw_twist_sentence(&twist, text);
		assert_string_equal(text, rows[i].sentence);
	}
}
/* clang-format on */

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R11_a_locked_way_is_named_and_a_visitors_trip_needs_no_keeper),
		cmocka_unit_test(a_way_that_became_slower_and_a_switch_that_chatters_are_told),
		cmocka_unit_test(R14_a_refused_configuration_is_told_as_long_as_the_old_one_is_in_force),
		cmocka_unit_test(R18_the_cable_is_drawn_from_left_to_right_with_what_is_blocked),
		cmocka_unit_test(R18_the_mark_of_the_cable_stays_between_its_limits),
	};

	return cmocka_run_group_tests_name("notes of the status page", tests, NULL, NULL);
}
