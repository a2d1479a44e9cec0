/* SPDX-License-Identifier: MIT */
/* Sums and differences of times: saturating, never negative, never wrapped. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/time.h"

static void a_sum_saturates_and_counts_what_is_negative_as_nothing(void **state)
{
	static const struct {
		td_ns at_ns, span_ns, sum_ns;
	} rows[] = {
		{0, 0, 0},
		{0, 1, 1},
		{2, 3, 5},
		{-1, 7, 7},
		{INT64_MIN, 7, 7},
		{7, -1, 7},
		{7, INT64_MIN, 7},
		{1, TD_NEVER - 2, TD_NEVER - 1},
		{1, TD_NEVER - 1, TD_NEVER},
		{1, TD_NEVER, TD_NEVER},
		{TD_NEVER, 1, TD_NEVER},
		{TD_NEVER, TD_NEVER, TD_NEVER},
		{-1, TD_NEVER, TD_NEVER},
		{0, TD_NEVER, TD_NEVER},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_int_equal(td_time_after(rows[i].at_ns, rows[i].span_ns), rows[i].sum_ns);
}

static void a_difference_is_never_negative(void **state)
{
	static const struct {
		td_ns from_ns, to_ns, span_ns;
	} rows[] = {
		{0, 0, 0},  {0, 5, 5},  {1, 5, 4},         {3, 5, 2},          {5, 5, 0},
		{5, 3, 0},  {-1, 5, 5}, {INT64_MIN, 5, 5}, {INT64_MIN, -5, 0}, {0, TD_NEVER, TD_NEVER},
		{-1, 1, 1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_int_equal(td_time_between(rows[i].from_ns, rows[i].to_ns), rows[i].span_ns);
}

static void the_earlier_of_two_is_the_smaller(void **state)
{
	(void)state;
	assert_int_equal(td_time_earlier(1, 2), 1);
	assert_int_equal(td_time_earlier(2, 1), 1);
	assert_int_equal(td_time_earlier(TD_NEVER, 1), 1);
}

static void units_are_what_they_say(void **state)
{
	(void)state;
	assert_int_equal(TD_US(3), 3000);
	assert_int_equal(TD_MS(3), 3000000);
	assert_int_equal(TD_S(3), 3000000000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_sum_saturates_and_counts_what_is_negative_as_nothing),
		cmocka_unit_test(a_difference_is_never_negative),
		cmocka_unit_test(the_earlier_of_two_is_the_smaller),
		cmocka_unit_test(units_are_what_they_say),
	};

	return cmocka_run_group_tests_name("core_time", tests, NULL, NULL);
}
