/* SPDX-License-Identifier: MIT */
/* Quiet hours: how they are written, and at which minutes of the week it is quiet. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "config/quiet.h"

enum { SUN, MON, TUE, WED, THU, FRI, SAT };

#define NINE(span) span "," span "," span "," span "," span "," span "," span "," span "," span

static struct td_quiet quiet;

static int at(int hours, int minutes)
{
	return hours * 60 + minutes;
}

static void parse(const char *text)
{
	const struct td_value_fault *fault = td_quiet_parse(text, &quiet);

	if (fault)
		fail_msg("%s: %s", text, fault->what);
}

/* How many minutes of the week are quiet. */
static int minutes(void)
{
	int count = 0;

	for (int day = SUN; day <= SAT; day++)
		for (int minute = 0; minute < 24 * 60; minute++)
			count += td_quiet_at(&quiet, day, minute);
	return count;
}

static void a_night_goes_over_midnight_to_the_minute(void **state)
{
	(void)state;
	parse("22:00-06:30");
	for (int day = SUN; day <= SAT; day++) {
		assert_false(td_quiet_at(&quiet, day, at(21, 59)));
		assert_true(td_quiet_at(&quiet, day, at(22, 0)));
		assert_true(td_quiet_at(&quiet, day, at(0, 0)));
		assert_true(td_quiet_at(&quiet, day, at(6, 29)));
		assert_false(td_quiet_at(&quiet, day, at(6, 30)));
	}
	assert_int_equal(minutes(), 7 * (2 * 60 + 6 * 60 + 30));
}

static void a_night_belongs_to_the_day_on_which_it_begins(void **state)
{
	(void)state;
	parse("sat 23:00-08:00");
	assert_true(td_quiet_at(&quiet, SAT, at(23, 0)));
	assert_true(td_quiet_at(&quiet, SUN, at(7, 59)));
	assert_false(td_quiet_at(&quiet, SUN, at(23, 0)));
	assert_false(td_quiet_at(&quiet, SAT, at(7, 59)));
	assert_int_equal(minutes(), 9 * 60);
}

static void days_run_over_the_end_of_the_week(void **state)
{
	(void)state;
	parse("fri-mon 12:00-14:00");
	assert_int_equal(minutes(), 4 * 120);
	assert_true(td_quiet_at(&quiet, SUN, at(13, 0)));
	assert_false(td_quiet_at(&quiet, TUE, at(13, 0)));
	parse("mon-fri 12:00-14:00");
	assert_int_equal(minutes(), 5 * 120);
	assert_false(td_quiet_at(&quiet, SUN, at(13, 0)));
}

static void several_spans_count_once_where_they_overlap(void **state)
{
	(void)state;
	parse("12:00-14:00, 13:00-15:00,wed 00:00-24:00");
	assert_int_equal(minutes(), 6 * 180 + 24 * 60);
}

static void what_is_no_day_of_the_week_is_not_quiet(void **state)
{
	(void)state;
	parse("00:00-24:00");
	assert_int_equal(minutes(), 7 * 24 * 60);
	assert_false(td_quiet_at(&quiet, 7, 0));
	assert_false(td_quiet_at(&quiet, -1, 0));
}

static void one_way_to_write_it(void **state)
{
	static const char *const same[][2] = {
		{"22:00-06:30", "22:00-06:30"},
		{"  22:00-06:30 ,  sat   23:00-08:00 ", "22:00-06:30,sat 23:00-08:00"},
		{"mon-sun 01:00-02:00", "01:00-02:00"},
		{"fri-mon 01:00-02:00", "fri-mon 01:00-02:00"},
		{"sat-sun 01:00-02:00", "sat-sun 01:00-02:00"},
		{"sun-sat 01:00-02:00", "01:00-02:00"},
		{"wed-wed 01:00-02:00", "wed 01:00-02:00"},
		{"00:00-24:00", "00:00-24:00"},
	};
	char shown[TD_QUIET_SHOWN_MAX];

	(void)state;
	for (size_t i = 0; i < sizeof(same) / sizeof(same[0]); i++) {
		struct td_quiet first;

		parse(same[i][0]);
		first = quiet;
		td_quiet_show(&quiet, shown);
		assert_string_equal(shown, same[i][1]);
		parse(shown);
		assert_memory_equal(&first, &quiet, sizeof(quiet));
	}
}

static void everything_else_is_a_fault_and_leaves_no_quiet(void **state)
{
	static const char *const bad[] = {
		"",
		" ",
		",",
		"22:00",
		"22:00-",
		"22:00-06:30,",
		"2:00-06:30",
		"22:00-6:30",
		"22.00-06.30",
		"22:00 - 06:30",
		"24:00-06:30",
		"22:00-24:01",
		"22:60-23:00",
		"22:00-22:00",
		"24:00-24:00",
		"someday 22:00-06:30",
		"mon- 22:00-06:30",
		"mo 22:00-06:30",
		"monday 22:00-06:30",
		"mon-fri-sat 22:00-06:30",
		"Mon 22:00-06:30",
		"mon fri 22:00-06:30",
		"22:00-06:30 mon",
		"22:00-06:300",
		"-2:00-06:30",
		"x2:00-06:30",
		"2x:00-06:30",
		"2-:00-06:30",
		"22:x0-06:30",
		"22:0x-06:30",
		"22:-0-06:30",
		"22x00-06:30",
		"22:00x06:30",
		NINE("01:00-02:00"),
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		memset(&quiet, 0xff, sizeof(quiet));
		if (!td_quiet_parse(bad[i], &quiet))
			fail_msg("no fault in \"%s\"", bad[i]);
		assert_int_equal(quiet.count, 0);
		assert_int_equal(minutes(), 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_night_goes_over_midnight_to_the_minute),
		cmocka_unit_test(a_night_belongs_to_the_day_on_which_it_begins),
		cmocka_unit_test(days_run_over_the_end_of_the_week),
		cmocka_unit_test(several_spans_count_once_where_they_overlap),
		cmocka_unit_test(what_is_no_day_of_the_week_is_not_quiet),
		cmocka_unit_test(one_way_to_write_it),
		cmocka_unit_test(everything_else_is_a_fault_and_leaves_no_quiet),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
