/* SPDX-License-Identifier: MIT */
/* R8: one contact, and how often it changes. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/chatter.h"
#include "tests/support/dice.h"

static const struct td_chatter_rules six = {6, TD_S(1)};

/* A burst of edges every `every_us`, for `span_us`; the time of the mark, or -1. */
static int64_t burst_us(struct td_chatter *chatter, const struct td_chatter_rules *rules, int64_t from_us,
			int64_t span_us, int64_t every_us)
{
	int64_t marked_us = -1;

	for (int64_t at_us = from_us; at_us <= from_us + span_us; at_us += every_us)
		if (td_chatter_change(chatter, rules, TD_US(at_us)))
			marked_us = at_us;
	return marked_us;
}

/*
 * J. Ganssle, "A Guide to Debouncing": sixteen switches bounced 1557 us on average and 6200 us at most (as quoted in
 * public sources), an outlier 157 ms (from memory). 20 ms is the most that a confirm time covers.
 */
static void r8_the_bounce_of_a_sound_switch_is_one_change_and_that_of_the_outlier_is_chatter(void **state)
{
	static const struct {
		int64_t bounce_us;
		int counted;
		int64_t marked_us;
	} rows[] = {{0, 1, -1},     {1557, 1, -1},  {6200, 1, -1},      {19999, 1, -1},
		    {20000, 2, -1}, {60000, 4, -1}, {157000, 6, 120000}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_chatter chatter = {.count = 0};

		assert_int_equal(burst_us(&chatter, &six, 0, rows[i].bounce_us, 1), rows[i].marked_us);
		assert_int_equal(chatter.count, rows[i].counted);
		assert_int_equal(chatter.marked, rows[i].marked_us >= 0);
	}
}

/* IEC 61000-4-4 (from memory): bursts of fast transients, 15 ms long, one every 300 ms, 5 kHz; for a minute here. */
static void r8_bursts_of_fast_transients_are_no_chatter_by_default(void **state)
{
	struct td_chatter chatter = {.count = 0};

	(void)state;
	for (int64_t at_us = 0; at_us < 60000000; at_us += 300000)
		assert_int_equal(burst_us(&chatter, &six, at_us, 15000, 200), -1);
	assert_false(chatter.marked);
}

static void r8_a_contact_that_is_not_watched_is_never_marked(void **state)
{
	static const struct td_chatter_rules none = {0, 0};
	static const struct td_chatter_rules senseless[] = {{0, TD_S(1)}, {UINT8_MAX, TD_S(1)}};
	struct td_chatter chatter = {.count = 0};

	(void)state;
	assert_int_equal(burst_us(&chatter, &none, 0, 5000000, 1000), -1);
	for (size_t i = 0; i < sizeof(senseless) / sizeof(senseless[0]); i++)
		assert_int_equal(burst_us(&chatter, &senseless[i], 0, 5000000, 1000), -1);
	assert_int_equal(chatter.count, 0);
}

static void r8_the_mark_is_told_once_and_forgiven_after_a_quiet_window(void **state)
{
	struct td_chatter chatter = {.count = 0};

	(void)state;
	assert_false(td_chatter_restless(&chatter, &six, 0));
	assert_int_equal(burst_us(&chatter, &six, 0, 119999, 1), -1);
	assert_false(td_chatter_restless(&chatter, &six, TD_MS(119)));
	assert_int_equal(burst_us(&chatter, &six, 120000, 2000000, 20000), 120000);
	assert_true(td_chatter_restless(&chatter, &six, TD_MS(3120) - 1));
	assert_false(td_chatter_restless(&chatter, &six, TD_MS(3120)));
	assert_true(chatter.marked);
	td_chatter_forgive(&chatter);
	assert_false(chatter.marked);
	assert_false(td_chatter_restless(&chatter, &six, 0));
	assert_int_equal(burst_us(&chatter, &six, 3120000, 2000000, 20000), 3240000);
}

static void r8_levels_seen_anew_leave_the_mark_and_nothing_else(void **state)
{
	struct td_chatter chatter = {.count = 0};

	(void)state;
	burst_us(&chatter, &six, 0, 120000, 20000);
	assert_true(chatter.marked);
	td_chatter_start(&chatter);
	assert_true(chatter.marked);
	assert_false(td_chatter_restless(&chatter, &six, TD_MS(121)));
	td_chatter_forgive(&chatter);
	assert_int_equal(burst_us(&chatter, &six, 121000, 119999, 20000), -1);
	assert_int_equal(burst_us(&chatter, &six, 241000, 0, 20000), 241000);
}

enum { CHANGES = 400 };

/* The definition, word by word, over all that ever happened. */
static bool chatters(const td_ns *change_ns, int changes, const struct td_chatter_rules *rules)
{
	td_ns counted_ns[CHANGES] = {change_ns[0]};
	int counted = 1;
	int within = 0;

	for (int i = 1; i < changes; i++)
		if (change_ns[i] - counted_ns[counted - 1] >= TD_MS(20))
			counted_ns[counted++] = change_ns[i];
	if (change_ns[changes - 1] != counted_ns[counted - 1])
		return false; /* the last change was bounce: it adds nothing */
	for (int i = 0; i < counted; i++)
		within += change_ns[changes - 1] - counted_ns[i] < rules->window_ns;
	return within > rules->changes;
}

static void r8_the_mark_is_what_the_definition_says_for_random_changes(void **state)
{
	struct dice dice = dice_start(88);
	td_ns change_ns[CHANGES];
	int marks = 0;

	(void)state;
	for (int run = 0; run < 300; run++) {
		const struct td_chatter_rules rules = {
			(uint8_t)(TD_CHATTER_CHANGES_MIN +
				  dice_below(&dice, TD_CHATTER_CHANGES_MAX - TD_CHATTER_CHANGES_MIN + 1)),
			TD_MS(500) + TD_MS((td_ns)dice_below(&dice, 1501))};
		struct td_chatter chatter = {.count = 0};
		td_ns now_ns = 0;

		for (int i = 0; i < CHANGES; i++) {
			now_ns += dice_span(&dice, 1000, TD_MS(300));
			change_ns[i] = now_ns;
			bool marked = td_chatter_change(&chatter, &rules, now_ns);

			assert_int_equal(marked, chatters(change_ns, i + 1, &rules));
			td_chatter_forgive(&chatter);
			marks += marked;
		}
	}
	printf("# measured: %d random changes, %d marks\n", 300 * CHANGES, marks);
	assert_true(marks > 1000);
}

static void any_bytes_are_a_state(void **state)
{
	struct dice dice = dice_start(89);

	(void)state;
	for (int run = 0; run < 100000; run++) {
		struct td_chatter_rules rules;
		struct td_chatter chatter;

		dice_rubbish(&dice, &rules, sizeof(rules));
		dice_rubbish(&dice, &chatter, sizeof(chatter));
		memset(&chatter.marked, (int)dice_below(&dice, 2), sizeof(chatter.marked));
		td_ns now_ns = (td_ns)(dice_bits(&dice) >> 1);

		(void)td_chatter_rules_ok(&rules);
		(void)td_chatter_change(&chatter, &rules, now_ns);
		(void)td_chatter_change(&chatter, &six, now_ns);
		(void)td_chatter_restless(&chatter, &rules, now_ns);
		td_chatter_start(&chatter);
		assert_false(td_chatter_restless(&chatter, &six, now_ns));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(
			r8_the_bounce_of_a_sound_switch_is_one_change_and_that_of_the_outlier_is_chatter),
		cmocka_unit_test(r8_bursts_of_fast_transients_are_no_chatter_by_default),
		cmocka_unit_test(r8_a_contact_that_is_not_watched_is_never_marked),
		cmocka_unit_test(r8_the_mark_is_told_once_and_forgiven_after_a_quiet_window),
		cmocka_unit_test(r8_levels_seen_anew_leave_the_mark_and_nothing_else),
		cmocka_unit_test(r8_the_mark_is_what_the_definition_says_for_random_changes),
		cmocka_unit_test(any_bytes_are_a_state),
	};

	return cmocka_run_group_tests_name("chatter", tests, NULL, NULL);
}
