/* SPDX-License-Identifier: MIT */
/* R12: sliding windows of powered time, against a plain list of every run. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/budget.h"
#include "tests/support/dice.h"

/* --- the exact account ----------------------------------------------------------------------------- */

enum { RUNS_MAX = 4096, ROUNDS = 30000 };

struct account {
	td_ns from_ns[RUNS_MAX];
	td_ns to_ns[RUNS_MAX];
	int runs;
	td_ns span_ns;
};

static void account_add(struct account *account, td_ns from_ns, td_ns to_ns)
{
	int keep = 0;

	for (int i = 0; i < account->runs; i++)
		if (account->to_ns[i] > to_ns - 2 * account->span_ns) {
			account->from_ns[keep] = account->from_ns[i];
			account->to_ns[keep++] = account->to_ns[i];
		}
	assert_true(keep < RUNS_MAX);
	account->from_ns[keep] = from_ns;
	account->to_ns[keep] = to_ns;
	account->runs = keep + 1;
}

static td_ns account_spent(const struct account *account, td_ns after_ns)
{
	td_ns sum_ns = 0;

	for (int i = 0; i < account->runs; i++) {
		td_ns from_ns = account->from_ns[i] > after_ns ? account->from_ns[i] : after_ns;

		sum_ns += account->to_ns[i] > from_ns ? account->to_ns[i] - from_ns : 0;
	}
	return sum_ns;
}

/* --- random use ------------------------------------------------------------------------------------ */

struct use {
	struct dice dice;
	struct td_budget budget;
	enum td_budget_span span;
	struct account account;
	td_ns span_ns, part_ns;
	td_ns allowed_ns, least_ns;
	td_ns now_ns;
	long refused, cut;
};

/* What rounding to microseconds can add up to. */
static td_ns rounding_ns(const struct use *use)
{
	return TD_US(2) * (use->account.runs + TD_BUDGET_BUCKETS);
}

/* A refusal that is late by no more than the powered time of one part. */
static void check_refusal(struct use *use, td_ns start_ns)
{
	td_ns before_ns = start_ns - 1 + use->least_ns - use->span_ns;

	assert_true(account_spent(&use->account, before_ns) + use->least_ns >
		    use->allowed_ns - use->part_ns - rounding_ns(use));
	use->refused++;
}

static void run_once(struct use *use)
{
	td_ns cut_ns = td_budget_cut_ns(&use->budget, use->span, use->allowed_ns, use->now_ns);
	td_ns end_ns = use->now_ns + dice_span(&use->dice, use->span_ns / 2000, use->span_ns / 4);

	assert_true(cut_ns - use->now_ns >= use->least_ns);
	if (dice_below(&use->dice, 3) == 0 && cut_ns != TD_NEVER)
		end_ns = cut_ns;
	if (end_ns >= cut_ns) {
		td_ns early_ns = cut_ns - use->now_ns + account_spent(&use->account, cut_ns - use->span_ns);

		assert_true(early_ns >= use->allowed_ns - use->part_ns - rounding_ns(use));
		end_ns = cut_ns;
		use->cut++;
	}
	if (end_ns == use->now_ns)
		return;
	td_budget_add(&use->budget, use->span, use->now_ns, end_ns);
	account_add(&use->account, use->now_ns, end_ns);
	use->now_ns = end_ns;
	/* The fullest window always ends with the end of a run. */
	assert_true(account_spent(&use->account, end_ns - use->span_ns) <= use->allowed_ns);
	assert_true(td_budget_spent_ns(&use->budget, use->span, end_ns - use->span_ns) >=
		    account_spent(&use->account, end_ns - use->span_ns));
}

static void use_once(struct use *use)
{
	td_ns start_ns =
		td_budget_start_ns(&use->budget, use->span, use->allowed_ns, use->least_ns, use->now_ns);

	assert_true(start_ns != TD_NEVER);
	if (start_ns > use->now_ns) {
		check_refusal(use, start_ns);
		use->now_ns = dice_below(&use->dice, 2) == 0
				      ? start_ns
				      : use->now_ns + dice_span(&use->dice, 1, start_ns - use->now_ns);
	}
	if (td_budget_start_ns(&use->budget, use->span, use->allowed_ns, use->least_ns, use->now_ns) ==
	    use->now_ns)
		run_once(use);
	use->now_ns += dice_span(&use->dice, use->span_ns / 2000, use->span_ns / 10);
}

static void use_span(enum td_budget_span span, uint64_t seed)
{
	static struct use use;

	memset(&use, 0, sizeof(use));
	use.dice = dice_start(seed);
	use.span = span;
	use.span_ns = td_budget_span_ns(span);
	use.part_ns = use.span_ns / TD_BUDGET_PARTS;
	use.account.span_ns = use.span_ns;
	use.now_ns = dice_span(&use.dice, 1, TD_S(86400));
	td_budget_init(&use.budget, use.now_ns);
	for (int round = 0; round < ROUNDS; round++) {
		if (round % 1000 == 0) { /* other numbers, after a rest that empties the window */
			use.allowed_ns = dice_span(&use.dice, use.span_ns / 50, use.span_ns);
			use.least_ns = (td_ns)dice_below(&use.dice, (uint64_t)use.allowed_ns / 4);
			use.now_ns += 2 * use.span_ns;
		}
		use_once(&use);
	}
	assert_true(use.refused > ROUNDS / 50 && use.cut > ROUNDS / 50);
	printf("# measured: window of %lld s: %d rounds, %ld refusals, %ld cuts, none too late\n",
	       (long long)(use.span_ns / TD_S(1)), ROUNDS, use.refused, use.cut);
}

static void R12_no_window_of_a_minute_ever_holds_more_than_allowed(void **state)
{
	(void)state;
	use_span(TD_BUDGET_MINUTE, 1001);
}

static void R12_no_window_of_ten_minutes_ever_holds_more_than_allowed(void **state)
{
	(void)state;
	use_span(TD_BUDGET_TEN_MINUTES, 1002);
}

static void R12_no_window_of_a_day_ever_holds_more_than_allowed(void **state)
{
	(void)state;
	use_span(TD_BUDGET_DAY, 1003);
}

/* --- examples -------------------------------------------------------------------------------------- */

#define TEN TD_BUDGET_TEN_MINUTES

/* 25 % of 10 minutes (IEC 60034-1, S3): 150 s on, 450 s off, for ever, wherever the cycle begins. */
static void R12_intermittent_duty_runs_for_ever_and_not_a_nanosecond_more(void **state)
{
	static const td_ns begins_ns[] = {0, TD_S(1), TD_S(7) + TD_US(3), TD_S(599) + TD_US(999999)};

	(void)state;
	for (size_t i = 0; i < sizeof(begins_ns) / sizeof(begins_ns[0]); i++) {
		struct td_budget budget;
		td_ns now_ns = begins_ns[i];

		td_budget_init(&budget, TD_S(0));
		for (int cycle = 0; cycle < 200; cycle++) {
			assert_true(td_budget_start_ns(&budget, TEN, TD_S(150), TD_S(150), now_ns) == now_ns);
			assert_true(td_budget_cut_ns(&budget, TEN, TD_S(150), now_ns) == now_ns + TD_S(150));
			td_budget_add(&budget, TEN, now_ns, now_ns + TD_S(150));
			assert_true(td_budget_cut_ns(&budget, TEN, TD_S(150), now_ns + TD_S(150)) ==
				    now_ns + TD_S(150));
			assert_true(td_budget_start_ns(&budget, TEN, TD_S(150), 1, now_ns + TD_S(150)) ==
				    now_ns + TD_S(600));
			now_ns += TD_S(600);
		}
	}
}

/* A window that begins anew on the clock would let 150 s before the mark adjoin 150 s after it. */
static void R12_two_allowances_never_adjoin(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, 0);
	td_budget_add(&budget, TEN, TD_S(450), TD_S(600));
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(150), TD_S(1), TD_S(600)) == TD_S(1050));
	assert_true(td_budget_cut_ns(&budget, TEN, TD_S(150), TD_S(600)) == TD_S(600));
}

static void R12_the_whole_window_allowed_is_no_limit(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, 0);
	assert_true(td_budget_cut_ns(&budget, TEN, TD_S(600), 0) == TD_NEVER);
	td_budget_add(&budget, TEN, 0, TD_S(5000));
	assert_true(td_budget_cut_ns(&budget, TEN, TD_S(600), TD_S(5000)) == TD_NEVER);
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(600), TD_S(600), TD_S(5000)) == TD_S(5000));
}

static void R12_a_run_longer_than_the_window_fills_it(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, 0);
	td_budget_add(&budget, TEN, TD_S(3), TD_S(7003));
	assert_true(td_budget_spent_ns(&budget, TEN, TD_S(7003 - 600)) == TD_S(600));
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(150), TD_S(150), TD_S(7003)) == TD_S(7003 + 450));
}

static void R12_a_filled_window_gives_time_back_as_it_slides(void **state)
{
	struct td_budget budget;

	(void)state;
	for (unsigned int i = 0; i < TD_BUDGET_SPANS; i++) {
		enum td_budget_span span = (enum td_budget_span)i;
		td_ns span_ns = td_budget_span_ns(span);

		td_budget_fill(&budget, span, TD_S(5));
		assert_true(td_budget_sane(&budget, span));
		assert_true(td_budget_spent_ns(&budget, span, TD_S(5) - span_ns) == span_ns);
		assert_true(td_budget_start_ns(&budget, span, span_ns / 4, 0, TD_S(5)) ==
			    TD_S(5) + span_ns - span_ns / 4);
	}
}

static void R12_long_rest_empties_the_window(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, 0);
	td_budget_add(&budget, TEN, 0, TD_S(300));
	assert_true(td_budget_spent_ns(&budget, TEN, TD_S(1000) - TD_S(600)) == 0);
	td_budget_add(&budget, TEN, TD_S(100000), TD_S(100001));
	assert_true(td_budget_spent_ns(&budget, TEN, TD_S(100001 - 600)) == TD_S(1));
}

static void R12_impossible_allowances_give_no_time(void **state)
{
	struct td_budget budget;

	(void)state;
	td_budget_init(&budget, 0);
	assert_true(td_budget_cut_ns(&budget, TEN, -1, TD_S(1)) == TD_S(1));
	assert_true(td_budget_cut_ns(&budget, TEN, INT64_MIN, TD_S(1)) == TD_S(1));
	assert_true(td_budget_cut_ns(&budget, TEN, 0, TD_S(1)) == TD_S(1));
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(1), TD_S(2), 0) == TD_NEVER);
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(700), TD_S(601), 0) == TD_NEVER);
	assert_true(td_budget_start_ns(&budget, TEN, TD_S(1), -1, 0) == TD_NEVER);
	assert_true(td_budget_start_ns(&budget, TD_BUDGET_SPANS, TD_S(1), 0, 0) == TD_NEVER);
	assert_true(td_budget_span_ns(TD_BUDGET_SPANS) == 0);
}

static void R12_rubbish_in_the_state_or_the_clock_gives_no_time(void **state)
{
	struct dice dice = dice_start(77);

	(void)state;
	for (int i = 0; i < 20000; i++) {
		struct td_budget budget;
		td_ns at_ns = (td_ns)dice_bits(&dice);
		td_ns other_ns = (td_ns)dice_bits(&dice);
		td_ns allowed_ns = (td_ns)dice_bits(&dice);
		enum td_budget_span span = (enum td_budget_span)dice_below(&dice, TD_BUDGET_SPANS);

		dice_rubbish(&dice, &budget, sizeof(budget));
		if (dice_below(&dice, 2) == 0)
			td_budget_init(&budget, at_ns);
		td_budget_add(&budget, span, at_ns, other_ns);
		td_ns cut_ns = td_budget_cut_ns(&budget, span, allowed_ns, at_ns);
		td_ns start_ns = td_budget_start_ns(&budget, span, allowed_ns, other_ns, at_ns);

		assert_true(cut_ns >= at_ns && start_ns >= at_ns);
		if (!td_budget_sane(&budget, span)) {
			assert_true(cut_ns == at_ns);
			assert_true(start_ns == TD_NEVER);
			assert_true(td_budget_spent_ns(&budget, span, at_ns) == td_budget_span_ns(span));
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_no_window_of_a_minute_ever_holds_more_than_allowed),
		cmocka_unit_test(R12_no_window_of_ten_minutes_ever_holds_more_than_allowed),
		cmocka_unit_test(R12_no_window_of_a_day_ever_holds_more_than_allowed),
		cmocka_unit_test(R12_intermittent_duty_runs_for_ever_and_not_a_nanosecond_more),
		cmocka_unit_test(R12_two_allowances_never_adjoin),
		cmocka_unit_test(R12_the_whole_window_allowed_is_no_limit),
		cmocka_unit_test(R12_a_run_longer_than_the_window_fills_it),
		cmocka_unit_test(R12_a_filled_window_gives_time_back_as_it_slides),
		cmocka_unit_test(R12_long_rest_empties_the_window),
		cmocka_unit_test(R12_impossible_allowances_give_no_time),
		cmocka_unit_test(R12_rubbish_in_the_state_or_the_clock_gives_no_time),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
