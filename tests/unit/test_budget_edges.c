/* SPDX-License-Identifier: MIT */
/* R12: sliding windows at the edges of their parts, of their range and of what an allowance leaves. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/budget.h"

/* Parts of two seconds. */
#define MINUTE TD_BUDGET_MINUTE
#define PART   TD_S(2)

static struct td_budget fresh(void)
{
	struct td_budget budget;

	memset(&budget, 0x5a, sizeof(budget));
	td_budget_init(&budget, 0);
	return budget;
}

static td_ns spent_after(const struct td_budget *budget, td_ns from_ns)
{
	return td_budget_spent_ns(budget, MINUTE, from_ns);
}

/* --- what a part remembers ------------------------------------------------------------------------- */

static void R12_a_run_is_split_at_the_edges_of_the_parts(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, TD_S(1), TD_S(5));
	assert_int_equal(budget.newest, 2);
	assert_true(budget.begin_ns == 2 * PART);
	assert_int_equal(budget.bucket[0].on_us, 1000000);
	assert_int_equal(budget.bucket[0].last_us, 2000000);
	assert_int_equal(budget.bucket[1].on_us, 2000000);
	assert_int_equal(budget.bucket[1].last_us, 2000000);
	assert_int_equal(budget.bucket[2].on_us, 1000000);
	assert_int_equal(budget.bucket[2].last_us, 1000000);
	td_budget_add(&budget, MINUTE, TD_S(9), TD_S(10)); /* the part between is empty */
	assert_int_equal(budget.bucket[3].on_us, 0);
	assert_int_equal(budget.bucket[3].last_us, 0);
}

/* A run that ends with a part leaves the next part alone. */
static void R12_a_run_that_ends_with_a_part_stays_in_it(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, PART);
	assert_int_equal(budget.newest, 0);
	assert_int_equal(budget.bucket[0].on_us, 2000000);
	td_budget_add(&budget, MINUTE, PART, PART + 1);
	assert_int_equal(budget.newest, 1);
	assert_int_equal(budget.bucket[1].on_us, 1);
	assert_int_equal(budget.bucket[1].last_us, 1);
}

static void R12_times_are_rounded_up_to_microseconds(void **state)
{
	static const struct {
		td_ns from_ns, to_ns;
		uint32_t on_us, last_us;
	} rows[] = {{0, 1, 1, 1},       {0, 1000, 1, 1},   {0, 1001, 2, 2},  {999, 1000, 1, 1},
		    {1000, 1001, 1, 2}, {500, 1500, 1, 2}, {500, 1501, 2, 2}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_budget budget = fresh();

		td_budget_add(&budget, MINUTE, rows[i].from_ns, rows[i].to_ns);
		assert_int_equal(budget.bucket[0].on_us, rows[i].on_us);
		assert_int_equal(budget.bucket[0].last_us, rows[i].last_us);
	}
}

/* Two runs in one part: as late as they can have been, and never more than there was time. */
static void R12_runs_in_one_part_add_up_to_what_there_was_time_for(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, TD_MS(100), TD_MS(200));
	td_budget_add(&budget, MINUTE, TD_MS(500), TD_MS(700));
	assert_int_equal(budget.bucket[0].on_us, 300000);
	assert_int_equal(budget.bucket[0].last_us, 700000);
	assert_true(spent_after(&budget, TD_MS(400)) == TD_MS(300));
	assert_true(spent_after(&budget, TD_MS(450)) == TD_MS(250));
	/* told late, and a second time: the end stays, the sum is bounded by it */
	td_budget_add(&budget, MINUTE, TD_MS(100), TD_MS(200));
	assert_int_equal(budget.bucket[0].on_us, 400000);
	assert_int_equal(budget.bucket[0].last_us, 700000);
	td_budget_add(&budget, MINUTE, 0, TD_MS(700));
	assert_int_equal(budget.bucket[0].on_us, 700000);
	assert_true(td_budget_sane(&budget, MINUTE));
}

/* The part it began in is gone already: what is left of it counts from where the newest part begins. */
static void R12_a_run_from_before_the_newest_part_counts_from_there(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, TD_S(100));
	td_budget_add(&budget, MINUTE, TD_S(99), TD_S(101));
	assert_true(budget.begin_ns == TD_S(100));
	assert_int_equal(budget.newest, 0);
	assert_int_equal(budget.bucket[0].on_us, 1000000);
	assert_int_equal(budget.bucket[0].last_us, 1000000);
	td_budget_add(&budget, MINUTE, TD_MS(101900), TD_S(102));
	td_budget_add(&budget, MINUTE, TD_S(99), TD_MS(100200));
	assert_int_equal(budget.bucket[0].on_us, 1000000 + 100000 + 200000);
	budget.bucket[0].on_us = 1000000;
	td_budget_add(&budget, MINUTE, TD_S(90), TD_S(95));
	assert_int_equal(budget.bucket[0].on_us, 1000000);
	td_budget_add(&budget, MINUTE, TD_S(90), TD_S(100));
	assert_int_equal(budget.bucket[0].on_us, 1000000);
}

static void R12_no_run_changes_nothing(void **state)
{
	struct td_budget budget = fresh();
	struct td_budget before;

	(void)state;
	td_budget_add(&budget, MINUTE, TD_S(1), TD_S(5));
	before = budget;
	td_budget_add(&budget, MINUTE, TD_S(50), TD_S(50));
	td_budget_add(&budget, MINUTE, TD_S(50), TD_S(40));
	td_budget_add(&budget, TD_BUDGET_SPANS, TD_S(50), TD_S(51));
	td_budget_add(&budget, MINUTE, TD_S(50), TD_BUDGET_TIME_MAX_NS + 1);
	td_budget_add(&budget, MINUTE, -TD_BUDGET_TIME_MAX_NS - 1, TD_S(51));
	assert_memory_equal(&budget, &before, sizeof(budget));
}

/* The window is the newest part and thirty before it: what is older is gone. */
static void R12_rolling_on_forgets_part_by_part(void **state)
{
	(void)state;
	for (int parts = 0; parts <= TD_BUDGET_BUCKETS + 1; parts++) {
		struct td_budget budget = fresh();

		td_budget_add(&budget, MINUTE, 0, TD_MS(500));
		td_budget_add(&budget, MINUTE, parts * PART + TD_S(1), parts * PART + TD_S(1) + TD_MS(1));
		assert_int_equal(budget.newest, parts <= TD_BUDGET_BUCKETS ? parts % TD_BUDGET_BUCKETS : 0);
		assert_true(budget.begin_ns == parts * PART);
		assert_true(spent_after(&budget, -TD_S(60)) == TD_MS(parts < TD_BUDGET_BUCKETS ? 501 : 1));
	}
}

static void R12_a_run_of_just_the_window_is_taken_whole(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, TD_S(60));
	assert_true(spent_after(&budget, 0) == TD_S(60));
	assert_int_equal(budget.bucket[0].on_us, 2000000);
	budget = fresh();
	td_budget_add(&budget, MINUTE, 0, TD_S(61));
	assert_true(spent_after(&budget, 0) == TD_S(60));
	assert_int_equal(budget.bucket[0].on_us, 1000000);
}

/* --- what cannot be -------------------------------------------------------------------------------- */

static void R12_a_window_is_sane_up_to_its_bounds(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	assert_true(td_budget_sane(&budget, MINUTE));
	assert_false(td_budget_sane(&budget, TD_BUDGET_SPANS));
	budget.newest = TD_BUDGET_BUCKETS - 1;
	budget.bucket[TD_BUDGET_BUCKETS - 1] = (struct td_budget_bucket){2000000, 2000000};
	assert_true(td_budget_sane(&budget, MINUTE));
	budget.bucket[TD_BUDGET_BUCKETS - 1] = (struct td_budget_bucket){2000001, 2000001};
	assert_false(td_budget_sane(&budget, MINUTE));
	assert_true(td_budget_sane(&budget, TD_BUDGET_TEN_MINUTES));
	budget.bucket[TD_BUDGET_BUCKETS - 1] = (struct td_budget_bucket){2, 1};
	assert_false(td_budget_sane(&budget, MINUTE));
	budget = fresh();
	budget.bucket[0] = (struct td_budget_bucket){2, 1};
	assert_false(td_budget_sane(&budget, MINUTE));
	budget = fresh();
	budget.newest = TD_BUDGET_BUCKETS;
	assert_false(td_budget_sane(&budget, MINUTE));
}

static void R12_time_is_good_up_to_its_ends(void **state)
{
	static const struct {
		td_ns at_ns;
		bool good;
	} rows[] = {{-TD_BUDGET_TIME_MAX_NS - 1, false},
		    {-TD_BUDGET_TIME_MAX_NS, true},
		    {TD_BUDGET_TIME_MAX_NS, true},
		    {TD_BUDGET_TIME_MAX_NS + 1, false},
		    {INT64_MIN, false},
		    {INT64_MAX - 1, false}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_budget budget;
		td_ns at_ns = rows[i].at_ns;
		bool good = rows[i].good;

		td_budget_init(&budget, at_ns);
		assert_true(budget.begin_ns == (good ? at_ns : 0));
		budget.begin_ns = at_ns;
		assert_int_equal(td_budget_sane(&budget, MINUTE), good);
		budget = fresh();
		assert_int_equal(td_budget_cut_ns(&budget, MINUTE, TD_S(7), at_ns) != at_ns, good);
		assert_int_equal(td_budget_start_ns(&budget, MINUTE, TD_S(7), TD_S(1), at_ns) == at_ns, good);
	}
}

static void R12_a_window_that_cannot_be_is_full(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	budget.newest = TD_BUDGET_BUCKETS;
	assert_true(spent_after(&budget, TD_S(1000)) == TD_S(60));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(30), TD_S(9)) == TD_S(9));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(30), TD_S(1), TD_S(9)) == TD_NEVER);
}

/* --- filled ---------------------------------------------------------------------------------------- */

static void R12_a_filled_window_is_full_but_for_its_newest_part(void **state)
{
	struct td_budget budget;

	(void)state;
	memset(&budget, 0x5a, sizeof(budget));
	td_budget_fill(&budget, MINUTE, TD_S(100));
	assert_int_equal(budget.newest, 0);
	assert_true(budget.begin_ns == TD_S(100));
	assert_int_equal(budget.bucket[0].on_us, 0);
	assert_int_equal(budget.bucket[0].last_us, 0);
	for (int i = 1; i < TD_BUDGET_BUCKETS; i++) {
		assert_int_equal(budget.bucket[i].on_us, 2000000);
		assert_int_equal(budget.bucket[i].last_us, 2000000);
	}
}

/* --- when to cut ----------------------------------------------------------------------------------- */

static void R12_an_allowance_that_is_spent_already_is_cut_at_once(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, TD_S(10));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(10) - 1, TD_S(20)) == TD_S(20));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(10), TD_S(20)) == TD_S(20));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(10) + 1, TD_S(20)) == TD_S(20) + 1);
	assert_true(td_budget_cut_ns(&budget, MINUTE, 0, TD_S(20)) == TD_S(20));
	assert_true(td_budget_cut_ns(&budget, MINUTE, -1, TD_S(500)) == TD_S(500));
	assert_true(td_budget_cut_ns(&budget, MINUTE, 0, TD_S(500)) == TD_S(500));
}

/* 10 s of 12 s are spent by runs from 0 to 4 and from 10 to 16. What is running adds; the first run leaves the window
 * from 60 s on, and while it does, the sum stays. */
static void R12_what_leaves_the_window_makes_room_for_what_runs(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, TD_S(4));
	td_budget_add(&budget, MINUTE, TD_S(10), TD_S(16));
	/* nothing leaves in time: the 2 s that are left */
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(12), TD_S(30)) == TD_S(32));
	/* from 59: 1 s until the first run leaves, its 4 s, then the other second */
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(12), TD_S(59)) == TD_S(59 + 1 + 4 + 1));
	/* exactly as much slack as there is gap: the next run leaves without a pause */
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(17), TD_S(59)) == TD_S(59 + 1 + 4 + 6 + 6));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(17) - 1, TD_S(59)) == TD_S(59 + 1 + 4 + 6) - 1);
	/* beyond them the window holds nothing but what is running */
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(59), TD_S(59)) == TD_S(59) + TD_S(59));
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(60) - 1, TD_S(59)) == TD_S(59) + TD_S(60) - 1);
	assert_true(td_budget_cut_ns(&budget, MINUTE, TD_S(60), TD_S(59)) == TD_NEVER);
}

/* --- when to start --------------------------------------------------------------------------------- */

static void R12_a_start_waits_until_enough_has_left(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, TD_S(4));
	td_budget_add(&budget, MINUTE, TD_S(10), TD_S(16));
	/* 10 spent, 12 allowed: 2 s fit, a nanosecond more does not */
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(2), TD_S(20)) == TD_S(20));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(2) + 1, TD_S(20)) ==
		    TD_S(60) + 1 - (TD_S(2) + 1));
	/* 5 s: 3 of the first run have to be gone when it ends */
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(5), TD_S(20)) == TD_S(60 + 3 - 5));
	/* 7 s: all of the first and 1 of the second */
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(7), TD_S(20)) == TD_S(60 + 11 - 7));
	/* all there is allowed */
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(12), TD_S(20)) == TD_S(60 + 16 - 12));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(12), TD_S(12) + 1, TD_S(20)) == TD_NEVER);
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(60), TD_S(60), TD_S(20)) == TD_S(20));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(61), TD_S(60) + 1, TD_S(20)) == TD_NEVER);
}

static void R12_without_a_least_run_a_start_waits_for_the_excess_alone(void **state)
{
	struct td_budget budget = fresh();

	(void)state;
	td_budget_add(&budget, MINUTE, 0, TD_S(4));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(4), 0, TD_S(5)) == TD_S(5));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(4) - 1, 0, TD_S(5)) == TD_S(60) + 1);
	assert_true(td_budget_start_ns(&budget, MINUTE, 0, 0, TD_S(5)) == TD_S(64));
	assert_true(td_budget_start_ns(&budget, MINUTE, 0, 0, TD_S(64) - 1) == TD_S(64));
	assert_true(td_budget_start_ns(&budget, MINUTE, 0, 0, TD_S(64)) == TD_S(64));
	assert_true(td_budget_start_ns(&budget, MINUTE, TD_S(4), -1, TD_S(5)) == TD_NEVER);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_a_run_is_split_at_the_edges_of_the_parts),
		cmocka_unit_test(R12_a_run_that_ends_with_a_part_stays_in_it),
		cmocka_unit_test(R12_times_are_rounded_up_to_microseconds),
		cmocka_unit_test(R12_runs_in_one_part_add_up_to_what_there_was_time_for),
		cmocka_unit_test(R12_a_run_from_before_the_newest_part_counts_from_there),
		cmocka_unit_test(R12_no_run_changes_nothing),
		cmocka_unit_test(R12_rolling_on_forgets_part_by_part),
		cmocka_unit_test(R12_a_run_of_just_the_window_is_taken_whole),
		cmocka_unit_test(R12_a_window_is_sane_up_to_its_bounds),
		cmocka_unit_test(R12_time_is_good_up_to_its_ends),
		cmocka_unit_test(R12_a_window_that_cannot_be_is_full),
		cmocka_unit_test(R12_a_filled_window_is_full_but_for_its_newest_part),
		cmocka_unit_test(R12_an_allowance_that_is_spent_already_is_cut_at_once),
		cmocka_unit_test(R12_what_leaves_the_window_makes_room_for_what_runs),
		cmocka_unit_test(R12_a_start_waits_until_enough_has_left),
		cmocka_unit_test(R12_without_a_least_run_a_start_waits_for_the_excess_alone),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
