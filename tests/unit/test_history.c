/* SPDX-License-Identifier: MIT */
/* What the front keeps of what happened, against a list of everything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "daemon/front/history.h"
#include "tests/support/dice.h"

enum { EVENTS = 12000, LOOKS = 4000 };

static struct td_history history;
static enum td_cause all[EVENTS + 1]; /* by number */

static void add(enum td_cause cause, uint8_t axis)
{
	const struct td_note_news news = {.cause = (uint8_t)cause, .axis = axis};
	const struct td_happening *kept = td_history_add(&history, TD_MS(history.last), &news);

	assert_int_equal(kept->n, history.last);
	all[history.last] = cause;
}

static int empty(void **state)
{
	(void)state;
	memset(&history, 0, sizeof(history));
	return 0;
}

/* The oldest number that is still to be kept of a kind: that of its 512th from the end. */
static int64_t oldest_kept(enum td_cause_kind kind)
{
	int64_t n = history.last;

	for (int found = 0; n > 0; n--)
		if (td_cause_kind(all[n]) == kind && ++found == TD_HISTORY_KEPT)
			break;
	return n;
}

static bool still_kept(int64_t n, const int64_t *oldest)
{
	return n >= oldest[td_cause_kind(all[n])];
}

static void look_after(int64_t since, const int64_t *oldest)
{
	struct td_history_missed missed = td_history_missed(&history, since);
	const struct td_happening *next = td_history_after(&history, since);
	bool of[TD_HISTORY_KINDS] = {false};
	int64_t first = 0;
	int64_t count = 0;

	for (int64_t n = since + 1; n <= history.last; n++) {
		bool kept = still_kept(n, oldest);

		if (kept && first == 0)
			first = n;
		count += !kept;
		of[td_cause_kind(all[n])] |= !kept;
	}
	assert_int_equal(next ? next->n : 0, first);
	if (next)
		assert_int_equal(next->news.cause, all[first]);
	assert_int_equal(missed.count, count);
	assert_memory_equal(missed.of, of, sizeof(of));
}

static void what_is_kept_and_what_is_missed_is_as_in_a_list_of_everything(void **state)
{
	struct dice dice = dice_start(20261128);
	int64_t oldest[TD_HISTORY_KINDS];
	unsigned int causes = 0;

	(void)state;
	while (td_cause_at(causes))
		causes++;
	for (int i = 0; i < EVENTS; i++) {
		/* Refusals come in floods, the rest as it comes. */
		bool flood = i / 1000 % 3 == 1;

		add(flood ? TD_CAUSE_AT_END : td_cause_at((unsigned int)dice_below(&dice, causes))->cause, 0);
		if (i % (EVENTS / 40) != 0)
			continue;
		for (int kind = 0; kind < TD_HISTORY_KINDS; kind++)
			oldest[kind] = oldest_kept((enum td_cause_kind)kind);
		for (int look = 0; look < LOOKS / 40; look++)
			look_after((int64_t)dice_below(&dice, (uint64_t)history.last + 1), oldest);
		look_after(0, oldest);
		look_after(history.last, oldest);
	}
}

static void a_flood_of_refusals_pushes_out_no_trip(void **state)
{
	(void)state;
	add(TD_CAUSE_TRAVEL_LIMIT, 1);
	for (int i = 0; i < EVENTS - 1; i++)
		add(TD_CAUSE_AT_END, 1);
	assert_int_equal(td_history_after(&history, 0)->n, 1);
	assert_int_equal(td_history_lost(&history), 0);
	assert_false(td_history_missed(&history, 0).of[TD_KIND_TRIP]);
	assert_true(td_history_missed(&history, 0).of[TD_KIND_REFUSAL]);
}

static void of_what_lasts_the_newest_that_is_gone_is_known(void **state)
{
	(void)state;
	for (int i = 0; i < TD_HISTORY_KEPT; i++)
		add(TD_CAUSE_END_REACHED, 0);
	assert_int_equal(td_history_lost(&history), 0);
	add(TD_CAUSE_STARTED, 0);
	add(TD_CAUSE_END_REACHED, 0);
	assert_int_equal(td_history_lost(&history), 1);
	add(TD_CAUSE_LET_GO, 0);
	assert_int_equal(td_history_lost(&history), 2);
}

static void the_newest_of_a_kind_is_found_by_its_axis(void **state)
{
	(void)state;
	assert_null(td_history_newest(&history, TD_KIND_TRIP, 0));
	add(TD_CAUSE_CHATTER, 0);
	add(TD_CAUSE_TRAVEL_LIMIT, 0);
	add(TD_CAUSE_BOTH_ENDS, 1);
	add(TD_CAUSE_END_REACHED, 0);
	assert_int_equal(td_history_newest(&history, TD_KIND_TRIP, 0)->news.cause, TD_CAUSE_TRAVEL_LIMIT);
	assert_int_equal(td_history_newest(&history, TD_KIND_TRIP, 1)->news.cause, TD_CAUSE_BOTH_ENDS);
	assert_null(td_history_newest(&history, TD_KIND_TRIP, 2));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(what_is_kept_and_what_is_missed_is_as_in_a_list_of_everything, empty),
		cmocka_unit_test_setup(a_flood_of_refusals_pushes_out_no_trip, empty),
		cmocka_unit_test_setup(of_what_lasts_the_newest_that_is_gone_is_known, empty),
		cmocka_unit_test_setup(the_newest_of_a_kind_is_found_by_its_axis, empty),
	};

	return cmocka_run_group_tests_name("history", tests, NULL, NULL);
}
