/* SPDX-License-Identifier: MIT */
/* A key on a terminal: held as long as it comes again in time. Simulated time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/client/grip.h"

enum { LOWER, RAISE };

static struct td_grip grip;

static int set_up(void **state)
{
	(void)state;
	grip = (struct td_grip){.held = false};
	return 0;
}

static void key(uint8_t way, int ms, enum td_grip_deed deed)
{
	assert_int_equal(td_grip_key(&grip, way, TD_MS(ms)), deed);
}

static void tick(int ms, enum td_grip_deed deed)
{
	assert_int_equal(td_grip_tick(&grip, TD_MS(ms)), deed);
}

static void a_tap_lasts_until_a_keyboard_would_have_repeated(void **state)
{
	(void)state;
	assert_int_equal(td_grip_due(&grip), TD_NEVER);
	key(RAISE, 1000, TD_GRIP_TAKE);
	assert_int_equal(td_grip_due(&grip), TD_MS(1700));
	tick(1699, TD_GRIP_NOTHING);
	tick(1700, TD_GRIP_LET_GO);
	tick(1701, TD_GRIP_NOTHING);
	assert_int_equal(td_grip_due(&grip), TD_NEVER);
}

static void a_key_that_repeats_is_let_go_soon_after_the_last(void **state)
{
	(void)state;
	key(RAISE, 1000, TD_GRIP_TAKE);
	for (int ms = 1500; ms <= 3000; ms += 33)
		key(RAISE, ms, TD_GRIP_NOTHING);
	assert_true(td_grip_due(&grip) <= TD_MS(3200));
	tick(3200, TD_GRIP_LET_GO);
}

static void the_key_of_the_other_way_takes_it_at_once(void **state)
{
	(void)state;
	key(RAISE, 1000, TD_GRIP_TAKE);
	key(LOWER, 1010, TD_GRIP_TAKE);
	assert_int_equal(grip.way, LOWER);
	key(LOWER, 1500, TD_GRIP_NOTHING);
	tick(1700, TD_GRIP_LET_GO);
}

/* R11: what the daemon ended does not begin again by a key that never went up. */
static void R11_a_hold_that_ended_waits_until_the_key_was_let_go(void **state)
{
	(void)state;
	key(RAISE, 1000, TD_GRIP_TAKE);
	key(RAISE, 1500, TD_GRIP_NOTHING);
	td_grip_end(&grip);
	for (int ms = 1533; ms < 5000; ms += 33)
		key(RAISE, ms, TD_GRIP_NOTHING);
	tick(5200, TD_GRIP_NOTHING);
	key(RAISE, 5201, TD_GRIP_TAKE);
}

static void R11_the_other_way_may_be_taken_at_once(void **state)
{
	(void)state;
	key(RAISE, 1000, TD_GRIP_TAKE);
	td_grip_end(&grip);
	key(LOWER, 1100, TD_GRIP_TAKE);
}

static void a_late_look_counts_a_late_key_as_a_new_one(void **state)
{
	(void)state;
	key(RAISE, 1000, TD_GRIP_TAKE);
	key(RAISE, 1500, TD_GRIP_NOTHING);
	key(RAISE, 1700, TD_GRIP_TAKE);
}

static void what_was_not_held_is_not_spent_when_everything_ends(void **state)
{
	(void)state;
	td_grip_end(&grip);
	key(RAISE, 10, TD_GRIP_TAKE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(a_tap_lasts_until_a_keyboard_would_have_repeated, set_up),
		cmocka_unit_test_setup(a_key_that_repeats_is_let_go_soon_after_the_last, set_up),
		cmocka_unit_test_setup(the_key_of_the_other_way_takes_it_at_once, set_up),
		cmocka_unit_test_setup(R11_a_hold_that_ended_waits_until_the_key_was_let_go, set_up),
		cmocka_unit_test_setup(R11_the_other_way_may_be_taken_at_once, set_up),
		cmocka_unit_test_setup(a_late_look_counts_a_late_key_as_a_new_one, set_up),
		cmocka_unit_test_setup(what_was_not_held_is_not_spent_when_everything_ends, set_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
