/* SPDX-License-Identifier: MIT */
/* The rate limit for lines, connections and log lines. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/front/rate.h"

static const td_ns start_ns = TD_S(1000);

static void test_a_burst_passes_at_once_and_then_one_every_so_often(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(5), 50);

	(void)state;
	for (int i = 0; i < 50; i++)
		assert_true(td_rate_take(&rate, start_ns));
	for (int i = 1; i < 1000; i++) {
		assert_false(td_rate_take(&rate, start_ns + i * TD_MS(5) - 1));
		assert_true(td_rate_wait(&rate, start_ns + i * TD_MS(5) - 1) == 1);
		assert_true(td_rate_take(&rate, start_ns + i * TD_MS(5)));
	}
}

static void test_a_pause_gives_the_burst_back_and_no_more(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(5), 50);
	int passed = 0;

	(void)state;
	for (int i = 0; i < 50; i++)
		assert_true(td_rate_take(&rate, start_ns));
	while (td_rate_take(&rate, start_ns + TD_MS(50)))
		passed++;
	assert_int_equal(passed, 10);
	for (passed = 0; td_rate_take(&rate, start_ns + TD_S(3600)); passed++)
		;
	assert_int_equal(passed, 50);
}

static void test_who_does_not_keep_to_it_is_in_debt_until_it_pauses(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(25), 10);
	td_ns now_ns = start_ns;

	(void)state;
	for (int i = 0; i < 10; i++)
		assert_true(td_rate_charge(&rate, now_ns));
	for (int i = 0; i < 1000; i++, now_ns += TD_MS(5))
		assert_false(td_rate_charge(&rate, now_ns));
	now_ns -= TD_MS(5);
	assert_int_equal(td_rate_wait(&rate, now_ns), TD_MS(275)); /* however long it went on */
	assert_true(td_rate_charge(&rate, now_ns + TD_MS(275)));
	assert_false(td_rate_charge(&rate, now_ns + TD_MS(275)));
}

static void test_who_keeps_to_it_is_never_in_debt(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(25), 10);

	(void)state;
	for (int i = 0; i < 1000; i++)
		assert_true(td_rate_charge(&rate, start_ns + i * TD_MS(25)));
}

/* In every window of a second, whatever the spacing, no more than burst and rate allow together. */
static void test_no_window_holds_more_than_burst_and_rate(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(5), 50);
	static td_ns passed_ns[100000];
	size_t count = 0;
	size_t oldest = 0;
	uint32_t random = 1;
	td_ns now_ns = start_ns;

	(void)state;
	for (int i = 0; i < 100000; i++) {
		random = random * UINT32_C(1664525) + UINT32_C(1013904223);
		now_ns += (td_ns)(random >> 8) % ((random & 1) != 0 ? TD_MS(1) : TD_MS(20));
		if (!td_rate_take(&rate, now_ns))
			continue;
		passed_ns[count++] = now_ns;
		while (now_ns - passed_ns[oldest] >= TD_S(1))
			oldest++;
		assert_true(count - oldest <= 50 + 200);
	}
	assert_true(count > 1000);
}

static void test_a_clock_that_went_back_lets_nothing_through_early(void **state)
{
	struct td_rate rate = td_rate_of(TD_MS(5), 1);

	(void)state;
	assert_true(td_rate_take(&rate, start_ns));
	assert_false(td_rate_take(&rate, start_ns - TD_S(10)));
	assert_true(td_rate_wait(&rate, start_ns - TD_S(10)) == TD_S(10) + TD_MS(5));
	assert_true(td_rate_take(&rate, start_ns + TD_MS(5)));
	assert_false(td_rate_take(&rate, TD_NEVER - TD_MS(1)) && td_rate_take(&rate, TD_NEVER - TD_MS(1)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_a_burst_passes_at_once_and_then_one_every_so_often),
		cmocka_unit_test(test_a_pause_gives_the_burst_back_and_no_more),
		cmocka_unit_test(test_who_does_not_keep_to_it_is_in_debt_until_it_pauses),
		cmocka_unit_test(test_who_keeps_to_it_is_never_in_debt),
		cmocka_unit_test(test_no_window_holds_more_than_burst_and_rate),
		cmocka_unit_test(test_a_clock_that_went_back_lets_nothing_through_early),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
