/* SPDX-License-Identifier: MIT */
/* What came after a stop, how traces are joined, and how spans are written. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/retell/words.h"
#include "tests/support/retold.h"

static struct retold told;

static void jam(void)
{
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 120);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, 2600);
	retold_drop(&told, "boom");
	retold_run(&told, 1000);
}

static void reset(const char *axis, uint8_t role, uint32_t session)
{
	retold_event(&told, (struct td_event){.kind = TD_EVENT_RESET,
					      .axis = axis ? td_config_axis(&told.config, axis) : TD_ALL_AXES,
					      .role = role,
					      .session = session});
}

static void expect(const char *text)
{
	if (!strstr(retold_tell(&told), text))
		fail_msg("\"%s\" is not in ... %s", text, strstr(told.text, "afterwards"));
}

static void expect_not(const char *text)
{
	if (strstr(retold_tell(&told), text))
		fail_msg("\"%s\" is in\n%s", text, told.text);
}

static void r11_a_visitor_who_resets_is_named(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	reset("boom", TD_ROLE_VISITOR, 3);
	expect("afterwards: 1.12 s later: a visitor (session 3, user id 2002) reset boom; nothing moved");
	expect_not("no reset is recorded");
}

static void r11_vain_tries_are_counted_in_one_line(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	for (int i = 0; i < 5; i++) {
		retold_ask(&told, "boom", "raise");
		retold_drop(&told, "boom");
		retold_run(&told, 500);
	}
	reset(NULL, TD_ROLE_KEEPER, RETOLD_KEEPER);
	retold_run(&told, 100);
	retold_ask(&told, "boom", "lower");
	expect("a visitor (session 3, user id 2002) asked for boom and was refused: the axis has tripped (5 "
	       "times)");
	expect("the keeper (session 9, user id 1000) reset boom");
	retold_run(&told, 1000);
	expect("later: boom was started again by a visitor (session 3, user id 2002)");
}

static void r11_the_second_trip_is_the_one_that_is_told_and_its_lock_with_it(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	reset("boom", TD_ROLE_KEEPER, RETOLD_KEEPER);
	retold_run(&told, 1000);
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 3500);
	expect("afterwards: in the same moment: boom: the way tripped twice in a row and is locked");
	expect("from a place that nobody knew");
}

static void r11_after_a_keep_a_later_trip_is_a_note(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	reset("boom", TD_ROLE_KEEPER, RETOLD_KEEPER);
	td_account_keep(&told.accountant);
	retold_run(&told, 1000);
	retold_switch(&told, "boom_top", true);
	retold_switch(&told, "boom_bottom", true);
	retold_run(&told, 100);
	expect("The boom tripped while raise was powered");
	expect("later: boom: both end switches of the axis are active at once");
}

static void notes_that_do_not_fit_are_counted(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	for (uint32_t i = 0; i < 20; i++)
		retold_event(&told, (struct td_event){.kind = TD_EVENT_REQUEST,
						      .axis = 2,
						      .way = 1,
						      .session = 10 + i,
						      .hold = 1,
						      .lease_ns = TD_MS(300)});
	assert_int_equal(told.accountant.account.notes, TD_ACCOUNT_NOTES_MAX);
	assert_int_equal(told.accountant.account.notes_left_out, 8);
	expect("afterwards: and 8 more\n");
}

/* --- traces that follow each other -------------------------------------------------------------------- */

static void head_again(td_ns begin_ns, td_ns wall_after_ns, uint64_t number)
{
	int64_t wall_ns = told.accountant.account.wall_ns + wall_after_ns;

	td_account_head(&told.accountant, &told.config, NULL, told.levels, begin_ns, wall_ns, number);
}

static void a_daemon_that_starts_anew_is_told(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	head_again(TD_S(3), TD_S(3600), 0);
	expect("afterwards: 1 h 0 min later: the daemon was started anew, and a trip does not outlive that");
	expect_not("no reset is recorded");
}

/* Sessions are numbered anew then: who had number 3 before is somebody else. */
static void after_a_restart_nobody_is_taken_for_somebody_else(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	head_again(TD_S(3), TD_S(3600), 0);
	told.number = 0;
	td_core_init(&told.core, &told.config.rules, 0);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = told.levels});
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LATCH, .session = 3});
	expect("somebody made the latched stop, by somebody (session 3)\n");
}

/* The trace of a trip and the run files overlap: what both hold is told once. */
static void an_overlap_is_told_once(void **state)
{
	struct td_entry news = {.kind = TD_ENTRY_NEWS};

	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	retold_ask(&told, "boom", "raise");
	retold_drop(&told, "boom");
	head_again(TD_S(10), -TD_MS(3600), 100);
	news.number = told.number - 1;
	news.at_ns = told.core.now_ns;
	news.as.news = (struct td_news){.cause = TD_CAUSE_TRIPPED, .axis = 2};
	td_account_entry(&told.accountant, &news);
	expect("was refused: the axis has tripped\n");
	expect_not("started anew");
	expect_not("2 times");
}

/* An older file, of the daemon before, tells nothing of what came after. */
static void what_lies_before_the_stop_is_not_told(void **state)
{
	struct td_entry news = {.kind = TD_ENTRY_NEWS};

	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	head_again(TD_S(5), -TD_MS(8600), 40);
	news.number = 5000;
	news.at_ns = TD_S(6);
	news.as.news = (struct td_news){.cause = TD_CAUSE_CHATTER, .axis = 3};
	td_account_entry(&told.accountant, &news);
	head_again(TD_S(10), -TD_MS(3600), 0);
	news.number = 900;
	news.at_ns = told.core.now_ns + 1;
	news.as.news = (struct td_news){.cause = TD_CAUSE_TRIPPED, .axis = 2};
	td_account_entry(&told.accountant, &news);
	expect("The boom tripped while raise was powered");
	expect_not("started anew");
	expect("boom: the axis has tripped\n");
}

static void an_earlier_trip_that_is_still_there_is_named(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	retold_ask(&told, "vent", "open");
	retold_run(&told, 800);
	expect("The vent tripped while open was powered");
	expect("why: 1.62 s before it, the boom had tripped and was not reset: the end was not reached in "
	       "the "
	       "learned time (travel-limit)");
}

static void without_a_wall_clock_it_says_so(void **state)
{
	static struct td_tale tale;

	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	jam();
	told.accountant.account.wall_ns = 0;
	td_tale_tell(&tale, &told.accountant.account, &told.config, TD_S(1000), "x");
	assert_string_equal(tale.line[0].text, "the trace does not say; 3.60 s after its beginning");
}

static void a_gap_ends_the_core_beside(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	told.number += 7;
	jam();
	assert_false(told.accountant.account.measure.known);
	expect("and before that for a time that this trace does not tell");
}

/* --- words ------------------------------------------------------------------------------------------ */

static void spans_read_well(void **state)
{
	static const struct {
		td_ns ns;
		const char *text;
	} spans[] = {
		{-5, "0 ms"},
		{0, "0 ms"},
		{TD_US(499), "0 ms"},
		{TD_US(500), "1 ms"},
		{TD_MS(310), "310 ms"},
		{TD_US(999499), "999 ms"},
		{TD_US(999500), "1.00 s"},
		{TD_MS(2600), "2.60 s"},
		{TD_MS(2604), "2.60 s"},
		{TD_MS(2605), "2.61 s"},
		{TD_MS(59990), "59.99 s"},
		{TD_S(60), "1 min 0 s"},
		{TD_MS(200499), "3 min 20 s"},
		{TD_S(3600), "1 h 0 min"},
		{TD_S(15000), "4 h 10 min"},
		{TD_S(172799), "48 h 0 min"},
		{TD_S(172800), "2 days 0 h"},
		{TD_S(183600), "2 days 3 h"},
		{TD_NEVER, "106751 days 23 h|106752 days 0 h"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(spans) / sizeof(spans[0]); i++) {
		char out[TD_SPAN_MAX];

		if (!strstr(spans[i].text, td_span(spans[i].ns, out)))
			fail_msg("%lld: %s", (long long)spans[i].ns, out);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r11_a_visitor_who_resets_is_named),
		cmocka_unit_test(r11_vain_tries_are_counted_in_one_line),
		cmocka_unit_test(r11_the_second_trip_is_the_one_that_is_told_and_its_lock_with_it),
		cmocka_unit_test(r11_after_a_keep_a_later_trip_is_a_note),
		cmocka_unit_test(notes_that_do_not_fit_are_counted),
		cmocka_unit_test(a_daemon_that_starts_anew_is_told),
		cmocka_unit_test(after_a_restart_nobody_is_taken_for_somebody_else),
		cmocka_unit_test(an_overlap_is_told_once),
		cmocka_unit_test(what_lies_before_the_stop_is_not_told),
		cmocka_unit_test(an_earlier_trip_that_is_still_there_is_named),
		cmocka_unit_test(without_a_wall_clock_it_says_so),
		cmocka_unit_test(a_gap_ends_the_core_beside),
		cmocka_unit_test(spans_read_well),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
