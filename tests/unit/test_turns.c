/* SPDX-License-Identifier: MIT */
/* Turns of visitors: who may move, how a turn ends, what a wait is told to be. Simulated time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/turns/turns.h"

#define MINUTE_NS TD_S(60)

enum { ANNA = 11, BERT, CARA, DORA };

static const struct td_turn_rules minutes = {
	.length_ns = 2 * MINUTE_NS, .idle_ns = TD_S(30), .pause_ns = TD_S(5), .per_user = 0};

static struct td_turns turns;

static int set_up(void **state)
{
	(void)state;
	td_turns_init(&turns, 0);
	return 0;
}

static void join(uint32_t session, td_ns now_ns)
{
	assert_int_equal(td_turns_join(&turns, &minutes, session, session, now_ns), TD_TURN_IN_LINE);
}

static struct td_turn_news tend(td_ns now_ns)
{
	return td_turns_tend(&turns, &minutes, now_ns);
}

static bool may(uint32_t session)
{
	return td_turns_may(&turns, &minutes, session);
}

static td_ns due(void)
{
	return td_turns_due(&turns, &minutes);
}

/* The three of them in line, Anna's turn since 0. */
static void three(void)
{
	join(ANNA, 0);
	join(BERT, 0);
	join(CARA, 0);
	assert_int_equal(tend(0).began_session, ANNA);
}

static void without_a_length_everybody_may(void **state)
{
	const struct td_turn_rules none = {.length_ns = 0};

	(void)state;
	assert_true(td_turns_may(&turns, &none, ANNA));
	assert_int_equal(td_turns_due(&turns, &none), TD_NEVER);
	assert_int_equal(td_turns_tend(&turns, &none, TD_S(1)).began_session, 0);
	td_turns_close(&turns, &none, true, TD_S(2));
	assert_false(td_turns_may(&turns, &none, ANNA));
}

static void nobody_moves_without_the_turn(void **state)
{
	(void)state;
	assert_false(may(ANNA));
	three();
	assert_true(may(ANNA));
	assert_false(may(BERT));
	assert_false(may(0));
	assert_int_equal(td_turns_holder(&turns), ANNA);
}

static void a_place_is_had_once(void **state)
{
	(void)state;
	three();
	assert_int_equal(td_turns_join(&turns, &minutes, BERT, BERT, 1), TD_TURN_TWICE);
	assert_int_equal(td_turns_place(&turns, CARA), 2);
	assert_int_equal(td_turns_place(&turns, DORA), TD_NO_PLACE);
}

static void a_turn_ends_to_the_nanosecond_when_somebody_waits(void **state)
{
	struct td_turn_news news;

	(void)state;
	three();
	for (td_ns at_ns = 0; at_ns < 2 * MINUTE_NS; at_ns += TD_S(20)) {
		td_turns_use(&turns, ANNA, at_ns);
		assert_int_equal(tend(at_ns).ended, TD_TURN_GOES_ON);
	}
	assert_int_equal(due(), 2 * MINUTE_NS);
	assert_int_equal(tend(2 * MINUTE_NS - 1).ended, TD_TURN_GOES_ON);
	news = tend(2 * MINUTE_NS);
	assert_int_equal(news.ended, TD_TURN_TIME);
	assert_int_equal(news.ended_session, ANNA);
	assert_int_equal(news.began_session, 0);
	assert_false(may(ANNA));
	assert_false(may(BERT));
	assert_int_equal(due(), 2 * MINUTE_NS + TD_S(5));
	assert_int_equal(tend(due() - 1).began_session, 0);
	assert_int_equal(tend(due()).began_session, BERT);
	assert_int_equal(td_turns_place(&turns, ANNA), TD_NO_PLACE);
}

static void alone_one_goes_on_and_who_comes_waits_no_longer_than_one_turn(void **state)
{
	(void)state;
	join(ANNA, 0);
	assert_int_equal(tend(0).began_session, ANNA);
	assert_int_equal(tend(7 * MINUTE_NS).ended, TD_TURN_GOES_ON);
	assert_true(may(ANNA));
	join(BERT, 7 * MINUTE_NS);
	td_turns_use(&turns, ANNA, 7 * MINUTE_NS);
	assert_int_equal(td_turns_wait(&turns, &minutes, 1, 7 * MINUTE_NS), MINUTE_NS + TD_S(5));
	td_turns_use(&turns, ANNA, 8 * MINUTE_NS - TD_S(1));
	assert_int_equal(tend(8 * MINUTE_NS - 1).ended, TD_TURN_GOES_ON);
	assert_int_equal(tend(8 * MINUTE_NS).ended, TD_TURN_TIME);
}

static void who_idles_loses_the_turn_to_who_waits(void **state)
{
	(void)state;
	three();
	td_turns_use(&turns, ANNA, TD_S(10));
	assert_int_equal(due(), TD_S(40));
	td_turns_use(&turns, BERT, TD_S(39)); /* does not count for Anna */
	assert_int_equal(tend(TD_S(40) - 1).ended, TD_TURN_GOES_ON);
	assert_int_equal(tend(TD_S(40)).ended, TD_TURN_IDLE);
}

static void alone_one_may_idle(void **state)
{
	(void)state;
	join(ANNA, 0);
	tend(0);
	assert_int_equal(tend(TD_S(119)).ended, TD_TURN_GOES_ON);
	assert_true(may(ANNA));
}

static void who_leaves_loses_the_turn_at_once(void **state)
{
	struct td_turn_news news;

	(void)state;
	three();
	news = td_turns_leave(&turns, &minutes, ANNA, TD_S(1));
	assert_int_equal(news.ended, TD_TURN_LEFT);
	assert_int_equal(news.ended_session, ANNA);
	assert_false(may(ANNA));
	assert_int_equal(tend(TD_S(6)).began_session, BERT);
	news = td_turns_leave(&turns, &minutes, CARA, TD_S(7));
	assert_int_equal(news.ended, TD_TURN_GOES_ON);
	assert_true(may(BERT));
	news = td_turns_leave(&turns, &minutes, DORA, TD_S(8));
	assert_int_equal(news.ended, TD_TURN_GOES_ON);
}

/* Somebody who comes and goes quickly gains nothing by it. */
static void a_new_place_is_behind_all_others(void **state)
{
	(void)state;
	three();
	td_turns_leave(&turns, &minutes, ANNA, TD_S(1));
	join(ANNA, TD_S(1));
	assert_int_equal(td_turns_place(&turns, ANNA), 2);
	assert_int_equal(tend(TD_S(6)).began_session, BERT);
}

static void the_pause_holds_for_who_comes_back_too(void **state)
{
	(void)state;
	join(ANNA, 0);
	tend(0);
	td_turns_leave(&turns, &minutes, ANNA, TD_S(1));
	join(ANNA, TD_S(2));
	assert_int_equal(tend(TD_S(6) - 1).began_session, 0);
	assert_int_equal(tend(TD_S(6)).began_session, ANNA);
}

static void the_keeper_ends_a_turn(void **state)
{
	struct td_turn_news news;

	(void)state;
	three();
	news = td_turns_end(&turns, &minutes, TD_S(3));
	assert_int_equal(news.ended, TD_TURN_KEEPER);
	assert_int_equal(news.ended_session, ANNA);
	assert_int_equal(tend(TD_S(8)).began_session, BERT);
	td_turns_init(&turns, 0);
	assert_int_equal(td_turns_end(&turns, &minutes, TD_S(9)).ended, TD_TURN_GOES_ON);
}

static void closed_nobody_moves_and_the_line_stays(void **state)
{
	struct td_turn_news news;

	(void)state;
	three();
	news = td_turns_close(&turns, &minutes, true, TD_S(1));
	assert_int_equal(news.ended, TD_TURN_KEEPER);
	assert_int_equal(tend(MINUTE_NS).began_session, 0);
	assert_int_equal(due(), TD_NEVER);
	join(DORA, MINUTE_NS);
	assert_false(may(BERT));
	news = td_turns_close(&turns, &minutes, false, 2 * MINUTE_NS);
	assert_int_equal(news.began_session, BERT);
	assert_int_equal(td_turns_place(&turns, DORA), 2);
}

static void the_line_is_of_a_fixed_length_and_so_is_a_users_part_of_it(void **state)
{
	struct td_turn_rules two = minutes;

	(void)state;
	two.per_user = 2;
	assert_int_equal(td_turns_join(&turns, &two, 1, 1000, 0), TD_TURN_IN_LINE);
	assert_int_equal(td_turns_join(&turns, &two, 2, 1000, 0), TD_TURN_IN_LINE);
	assert_int_equal(td_turns_join(&turns, &two, 3, 1000, 0), TD_TURN_USER_FULL);
	for (uint32_t i = 3; i <= TD_TURN_PLACES_MAX; i++)
		assert_int_equal(td_turns_join(&turns, &two, i, 2000 + i, 0), TD_TURN_IN_LINE);
	assert_int_equal(td_turns_join(&turns, &two, 99, 3000, 0), TD_TURN_FULL);
	assert_int_equal(td_turns_leave(&turns, &two, 2, 0).ended, TD_TURN_GOES_ON);
	assert_int_equal(td_turns_join(&turns, &two, 99, 1000, 0), TD_TURN_IN_LINE);
}

static void a_wait_is_a_turn_and_a_pause_for_each_one_before(void **state)
{
	(void)state;
	three();
	assert_int_equal(td_turns_wait(&turns, &minutes, 0, TD_S(20)), 0);
	assert_int_equal(td_turns_wait(&turns, &minutes, 1, TD_S(20)), TD_S(105));
	assert_int_equal(td_turns_wait(&turns, &minutes, 2, TD_S(20)), TD_S(105) + TD_S(125));
	assert_int_equal(td_turns_wait(&turns, &minutes, 3, TD_S(20)), TD_S(105) + 2 * TD_S(125));
	assert_int_equal(td_turns_wait(&turns, &minutes, TD_NO_PLACE, TD_S(20)), 0);
	td_turns_leave(&turns, &minutes, ANNA, TD_S(30));
	assert_int_equal(td_turns_wait(&turns, &minutes, 0, TD_S(32)), TD_S(3));
	assert_int_equal(td_turns_wait(&turns, &minutes, 1, TD_S(32)), TD_S(3) + TD_S(125));
	assert_int_equal(td_turns_left(&turns, &minutes, TD_S(32)), 0);
}

static void time_that_runs_backwards_takes_nothing_away(void **state)
{
	(void)state;
	three();
	td_turns_use(&turns, ANNA, TD_S(100));
	assert_int_equal(tend(TD_S(50)).ended, TD_TURN_GOES_ON);
	assert_int_equal(tend(TD_S(120)).ended, TD_TURN_TIME);
	assert_int_equal(tend(TD_S(1)).began_session, 0);
	assert_int_equal(tend(TD_S(125)).began_session, BERT);
}

static void a_late_look_ends_one_turn_and_begins_one(void **state)
{
	struct td_turn_rules no_pause = minutes;
	struct td_turn_news news;

	(void)state;
	no_pause.pause_ns = 0;
	three();
	news = td_turns_tend(&turns, &no_pause, TD_S(3600));
	assert_int_equal(news.ended, TD_TURN_TIME);
	assert_int_equal(news.began_session, BERT);
	assert_int_equal(td_turns_left(&turns, &no_pause, TD_S(3600)), 2 * MINUTE_NS);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(without_a_length_everybody_may, set_up),
		cmocka_unit_test_setup(nobody_moves_without_the_turn, set_up),
		cmocka_unit_test_setup(a_place_is_had_once, set_up),
		cmocka_unit_test_setup(a_turn_ends_to_the_nanosecond_when_somebody_waits, set_up),
		cmocka_unit_test_setup(alone_one_goes_on_and_who_comes_waits_no_longer_than_one_turn, set_up),
		cmocka_unit_test_setup(who_idles_loses_the_turn_to_who_waits, set_up),
		cmocka_unit_test_setup(alone_one_may_idle, set_up),
		cmocka_unit_test_setup(who_leaves_loses_the_turn_at_once, set_up),
		cmocka_unit_test_setup(a_new_place_is_behind_all_others, set_up),
		cmocka_unit_test_setup(the_pause_holds_for_who_comes_back_too, set_up),
		cmocka_unit_test_setup(the_keeper_ends_a_turn, set_up),
		cmocka_unit_test_setup(closed_nobody_moves_and_the_line_stays, set_up),
		cmocka_unit_test_setup(the_line_is_of_a_fixed_length_and_so_is_a_users_part_of_it, set_up),
		cmocka_unit_test_setup(a_wait_is_a_turn_and_a_pause_for_each_one_before, set_up),
		cmocka_unit_test_setup(time_that_runs_backwards_takes_nothing_away, set_up),
		cmocka_unit_test_setup(a_late_look_ends_one_turn_and_begins_one, set_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
