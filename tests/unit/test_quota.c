/* SPDX-License-Identifier: MIT */
/* R11: how often visitors reset, in any hour wherever it begins. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/quota.h"
#include "tests/support/dice.h"

#define HOUR_NS TD_S(3600)

static void r11_none_is_none(void **state)
{
	struct td_quota quota = {.next = 0};
	struct td_quota before = quota;

	(void)state;
	assert_int_equal(td_quota_free_ns(&quota, 0), TD_NEVER);
	assert_false(td_quota_take(&quota, 0, TD_S(1)));
	assert_memory_equal(&quota, &before, sizeof(quota));
}

/* At the end of time a place that is never free is not in the past. */
static void r11_none_is_none_at_the_end_of_time(void **state)
{
	struct td_quota none = {.next = 0};
	struct td_quota beyond = {.next = 3};

	(void)state;
	assert_false(td_quota_take(&none, 0, TD_NEVER));
	assert_false(td_quota_take(&beyond, 3, TD_NEVER));
	assert_int_equal(none.next, 0);
	assert_int_equal(beyond.next, 3);
}

static void r11_one_comes_again_after_an_hour_to_the_nanosecond(void **state)
{
	struct td_quota quota = {.next = 0};

	(void)state;
	assert_int_equal(td_quota_free_ns(&quota, 1), 0);
	assert_true(td_quota_take(&quota, 1, 7));
	assert_int_equal(td_quota_free_ns(&quota, 1), 7 + HOUR_NS);
	assert_false(td_quota_take(&quota, 1, 7));
	assert_false(td_quota_take(&quota, 1, 7 + HOUR_NS - 1));
	assert_true(td_quota_take(&quota, 1, 7 + HOUR_NS));
	assert_int_equal(td_quota_free_ns(&quota, 1), 7 + 2 * HOUR_NS);
}

/* An aligned window would allow the end of one and the beginning of the next together. */
static void r11_the_hour_is_any_hour(void **state)
{
	struct td_quota quota = {.next = 0};

	(void)state;
	assert_true(td_quota_take(&quota, 2, HOUR_NS - 2));
	assert_true(td_quota_take(&quota, 2, HOUR_NS - 1));
	assert_false(td_quota_take(&quota, 2, HOUR_NS));
	assert_false(td_quota_take(&quota, 2, 2 * HOUR_NS - 3));
	assert_true(td_quota_take(&quota, 2, 2 * HOUR_NS - 2));
	assert_false(td_quota_take(&quota, 2, 2 * HOUR_NS - 2));
	assert_true(td_quota_take(&quota, 2, 2 * HOUR_NS - 1));
}

static void r11_a_refusal_costs_nothing(void **state)
{
	struct td_quota quota = {.next = 0};

	(void)state;
	assert_true(td_quota_take(&quota, 1, 0));
	for (td_ns at = 0; at < HOUR_NS; at += TD_S(10))
		assert_false(td_quota_take(&quota, 1, at));
	assert_true(td_quota_take(&quota, 1, HOUR_NS));
}

static void r11_more_than_there_can_be_counts_as_the_most_there_can_be(void **state)
{
	struct td_quota quota = {.next = 0};

	(void)state;
	for (int i = 0; i < TD_VISITOR_RESETS_MAX; i++)
		assert_true(td_quota_take(&quota, 255, TD_S(i)));
	assert_false(td_quota_take(&quota, 255, TD_S(TD_VISITOR_RESETS_MAX)));
	assert_int_equal(td_quota_free_ns(&quota, 255), HOUR_NS);
}

/* A state that nobody can have made says no. */
static void r11_a_place_that_is_not_there_is_never_free(void **state)
{
	const struct td_quota quota = {.next = 6};
	struct td_quota taken = quota;

	(void)state;
	assert_int_equal(td_quota_free_ns(&quota, 6), TD_NEVER);
	assert_false(td_quota_take(&taken, 6, TD_S(1)));
	assert_memory_equal(&quota, &taken, sizeof(quota));
}

static void r11_the_end_of_time_does_not_wrap(void **state)
{
	struct td_quota quota = {.next = 0};

	(void)state;
	assert_true(td_quota_take(&quota, 1, TD_NEVER - 1));
	assert_int_equal(td_quota_free_ns(&quota, 1), TD_NEVER);
	assert_false(td_quota_take(&quota, 1, TD_NEVER - 1));
}

enum { TAKES = 4000 };

/* How many of these were less than an hour before `now`: the definition, counted one by one. */
static unsigned int within_the_hour(const td_ns *taken, unsigned int count, td_ns now_ns)
{
	unsigned int within = 0;

	for (unsigned int i = 0; i < count; i++)
		within += now_ns - taken[i] < HOUR_NS;
	return within;
}

static void r11_it_agrees_with_counting_every_reset_there_ever_was(void **state)
{
	static td_ns taken[TAKES];
	static const uint8_t limits[] = {1, 2, 6, 59, 60};

	(void)state;
	for (size_t k = 0; k < sizeof(limits); k++) {
		struct dice dice = dice_start(20261125 + k);
		struct td_quota quota = {.next = 0};
		unsigned int count = 0;
		unsigned int asked = 0;
		td_ns now_ns = 0;

		for (; asked < TAKES; asked++) {
			bool may = within_the_hour(taken, count, now_ns) < limits[k];

			assert_int_equal(td_quota_free_ns(&quota, limits[k]) <= now_ns, may);
			assert_int_equal(td_quota_take(&quota, limits[k], now_ns), may);
			if (may)
				taken[count++] = now_ns;
			now_ns += TD_S(dice_below(&dice, dice_below(&dice, 3) ? 60 : 3600));
		}
		printf("# measured: %u an hour: %u of %u taken\n", limits[k], count, asked);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r11_none_is_none),
		cmocka_unit_test(r11_none_is_none_at_the_end_of_time),
		cmocka_unit_test(r11_one_comes_again_after_an_hour_to_the_nanosecond),
		cmocka_unit_test(r11_the_hour_is_any_hour),
		cmocka_unit_test(r11_a_refusal_costs_nothing),
		cmocka_unit_test(r11_more_than_there_can_be_counts_as_the_most_there_can_be),
		cmocka_unit_test(r11_a_place_that_is_not_there_is_never_free),
		cmocka_unit_test(r11_the_end_of_time_does_not_wrap),
		cmocka_unit_test(r11_it_agrees_with_counting_every_reset_there_ever_was),
	};

	return cmocka_run_group_tests_name("quota", tests, NULL, NULL);
}
